"""What a drill names beside it: a score, the recorded accompaniment, the teacher's own playing.

Only names and bars are read here; the files themselves belong to whoever keeps files.
"""

from dataclasses import dataclass

from rhythmtrain.score.drill.keys import ACCOMPANIMENT_KEYS, MODEL_KEYS, Section

# What a score gives itself, so that a drill that names one must not.
GIVEN_BY_SCORE = ("rhythm", "cue", "tune", "metre")
# What belongs to a score alone.
SCORE_KEYS = ("part", "bars", "cue_part", "seen")
LONGEST_BAR_NUMBER = 5


@dataclass(frozen=True, slots=True)
class ScoreReference:
    """The part of a score that a drill practises; ``bars`` as printed, or None for all.

    ``cue_part`` is whose top line is the cue; ``seen`` stands for the music as it was when the drill
    was written (see ``from_score``).
    """

    score: str
    part: str | None = None
    bars: tuple[int, int] | None = None
    cue_part: str | None = None
    seen: str | None = None


@dataclass(frozen=True, slots=True)
class Accompaniment:
    """The recorded accompaniment: paths beside the drill, and bars where the two must meet."""

    recording: str | None = None
    beats: str | None = None
    notes: str | None = None
    meet: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Model:
    """The teacher's own playing of the passage: paths beside the drill."""

    recording: str
    beats: str | None = None


def read_accompaniment(top: Section) -> Accompaniment | None:
    """Return the [accompaniment] of a drill, or None."""
    for section in top.sections("accompaniment", ACCOMPANIMENT_KEYS):
        recording, beats = section.path("recording"), section.path("beats")
        notes = section.path("notes")
        if recording is None and notes is None:
            raise section.error("an accompaniment wants a recording or notes")
        if beats is not None and recording is None:
            raise section.error("beats belong to a recording: add recording")
        return Accompaniment(recording, beats, notes, section.whole_numbers("meet"))
    return None


def read_model(top: Section) -> Model | None:
    """Return the [model] of a drill, or None."""
    for section in top.sections("model", MODEL_KEYS):
        recording = section.path("recording")
        if recording is None:
            raise section.error("a model wants a recording")
        return Model(recording, section.path("beats"))
    return None


def read_score(top: Section) -> ScoreReference:
    """Return the part of a score that a drill names."""
    stray = next((key for key in GIVEN_BY_SCORE if key in top.values), None)
    if stray is not None:
        raise top.error(f"{stray} comes from the score: leave it out, or leave score out", stray)
    score = top.path("score")
    return ScoreReference(
        score or "",
        top.name_or_number("part"),
        _bars(top),
        top.name_or_number("cue_part"),
        top.line("seen"),
    )


def _bars(top: Section) -> tuple[int, int] | None:
    text = top.name_or_number("bars")
    if text is None:
        return None
    first, _, last = text.partition("-")
    numbers = [part.strip() for part in (first, last or first)]
    if not all(
        part.isdecimal() and part.isascii() and len(part) <= LONGEST_BAR_NUMBER for part in numbers
    ):
        raise top.error(f'bars are written like "17-24", got {text[:20]!r}', "bars")
    begin, end = int(numbers[0]), int(numbers[1])
    if end < begin:
        raise top.error(f"bars {text} run backwards: write the lower number first", "bars")
    return begin, end
