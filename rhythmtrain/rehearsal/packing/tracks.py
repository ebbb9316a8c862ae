"""What stands in a pack for each step of the practice order, as plans and file names.

Every track is the same passage at one tempo; what sounds, how often, and how the help fades is one
row of the table below.  Tracks are numbered in practice order and say their tempo; the digits of
the tempo are filled up, so that names sort as numbers do.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from rhythmtrain.coach.practice_order import Step, practice_order
from rhythmtrain.prompts.fading import HELP_STEPS, HelpStep
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import DEFAULT_LAYERS, Wishes
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import Bpm

ALONE_STEPS = tuple(s for s in HELP_STEPS if s.name in ("no clap", "you count", "click"))
MOST_DECIMALS = 2
PACK_LAYERS = DEFAULT_LAYERS | {Layer.CUE}


@dataclass(frozen=True, slots=True)
class Recipe:
    """How the track of one step is made; ``name`` stands in its file's name."""

    name: str
    repeats: int
    echo: int = 0
    tune: bool = False
    fading: tuple[HelpStep, ...] = ()


RECIPES: dict[Step, Recipe] = {
    Step.LISTEN: Recipe("listen", repeats=2, tune=True),
    Step.ECHO: Recipe("echo", repeats=1, echo=2),
    Step.WITH_HELP: Recipe("with-help", repeats=4, fading=HELP_STEPS),
    Step.ALONE: Recipe("alone", repeats=3, fading=ALONE_STEPS),
}
AS_NOTES = Recipe("midi", repeats=1, tune=True)


@dataclass(frozen=True, slots=True)
class PackTrack:
    """One file of a pack; ``step`` is None for the MIDI file of a tempo."""

    step: Step | None
    tempo: Bpm
    file: str

    @property
    def recipe(self) -> Recipe:
        """Return how this track is made."""
        return AS_NOTES if self.step is None else RECIPES[self.step]


def pack_tracks(
    tempi: tuple[Bpm, ...], ending: str, *, without: tuple[Step, ...] = ()
) -> Iterator[PackTrack]:
    """Yield the sound files of a pack in practice order, then a MIDI file for each tempo.

    Steps in ``without`` are left out.
    """
    order = tuple(each for each in practice_order(tempi) if each[0] not in without)
    digits = max(2, len(str(len(order))))
    for place, (step, tempo) in enumerate(order, start=1):
        name = f"{place:0{digits}}-{RECIPES[step].name}-{tempo_digits(tempo, tempi)}.{ending}"
        yield PackTrack(step, tempo, name)
    for tempo in tempi:
        yield PackTrack(None, tempo, f"{AS_NOTES.name}-{tempo_digits(tempo, tempi)}.mid")


def tempo_digits(tempo: Bpm, tempi: tuple[Bpm, ...]) -> str:
    """Return ``tempo`` written so that all ``tempi`` sort by name: "048", "096.5"."""
    decimals = next(
        (few for few in range(MOST_DECIMALS) if all(round(each, few) == each for each in tempi)),
        MOST_DECIMALS,
    )
    width = len(f"{max(tempi):.{decimals}f}")
    return f"{tempo:0{width}.{decimals}f}"


def pack_plan(passage: Passage, track: PackTrack, layers: frozenset[Layer] = PACK_LAYERS) -> Plan:
    """Return what one hears in ``track`` of the pack of ``passage``; ``layers`` as wished."""
    return plan_track(pack_timeline(passage, track), pack_wishes(passage, track, layers))


def pack_timeline(passage: Passage, track: PackTrack) -> Timeline:
    """Return ``passage`` laid out as ``track`` practises it, counted in."""
    recipe = track.recipe
    practice = Practice(track.tempo / passage.tempo, recipe.repeats, count_in=1, echo=recipe.echo)
    return lay_out(passage, practice)


def pack_wishes(
    passage: Passage, track: PackTrack, layers: frozenset[Layer], *, taught: bool = False
) -> Wishes:
    """Return what should be heard in ``track``, where ``layers`` are wished.

    ``taught`` tells whether the teacher's own playing is there for the tune.
    """
    recipe = track.recipe
    tuneful = taught or any(note.pitches for note in notes_of(passage.bars))
    return Wishes(
        layers=_layers(track, layers) if recipe.tune and tuneful else layers,
        fade=bool(recipe.fading),
        steps=recipe.fading or HELP_STEPS,
    )


def _layers(track: PackTrack, layers: frozenset[Layer]) -> frozenset[Layer]:
    """Return ``layers`` with the tune: in place of the clap, where that is wished for."""
    if track.step is None:
        return layers | {Layer.TUNE}
    return layers - {Layer.CLAP} | {Layer.TUNE} if Layer.CLAP in layers else layers
