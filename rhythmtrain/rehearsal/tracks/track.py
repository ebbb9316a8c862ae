"""Making a practice track: from a passage and wishes to a file one can practise to."""

from dataclasses import dataclass, replace
from pathlib import Path

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.fading import RHYTHM
from rhythmtrain.prompts.landmarks import landmark_texts
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.passages.from_scores import Say as Tell
from rhythmtrain.rehearsal.passages.passages import Wish, practice_of, whole_passage, wished_passage
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES, RecordingFiles, has_model
from rhythmtrain.rehearsal.recorded.doubts import recording_doubts
from rhythmtrain.rehearsal.recorded.sounding import sound_doubts
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.rehearsal.tracks.model import Taught, with_model
from rhythmtrain.rehearsal.tracks.recordings import accompanied, laid_pieces, played, with_bars
from rhythmtrain.rehearsal.tracks.sound import (
    RATE,
    Spoken,
    is_midi,
    not_spoken,
    own_voice,
    write_track,
)
from rhythmtrain.remedies import option
from rhythmtrain.render.recorded import Played
from rhythmtrain.report.passage.track_json import track_json
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.sounds import sayable
from rhythmtrain.timing.timeline import Timeline, lay_out

QUICK_BARS = 2
NOT_HEARD = f"add accompaniment to {option('layers')}, so that the recording is heard"


@dataclass(frozen=True, slots=True)
class TrackWish(Wish):
    """What a track should hold: options as typed."""

    count_in: int = 1
    quick: bool = False
    layers: str = "clap,click,count"
    fade: bool = False
    say: str = "played"
    subdivide: int | None = None
    counting: str = "numbers"
    landmarks: bool = False
    language: str = "en"
    voice: Path | None = None
    accompaniment: Path | None = None
    beats: Path | None = None
    steady: bool = False
    lead_in: int = 2

    @property
    def files(self) -> RecordingFiles:
        """Return the recording and the beat map that were given, if any."""
        return RecordingFiles(self.accompaniment, self.beats)


def make_track(wish: TrackWish, output: Path, *, progress: Progress = quietly) -> Told:
    """Write the track that ``wish`` asks for to ``output`` and return what is in it.

    Raises:
        RequestError: options out of range, an unknown layer, language or ending.
        DrillError, FileError: the passage does not read, or the file cannot be written.
    """
    said: list[str] = []
    passage = wished_passage(wish, said.append)
    unspoken = _unspoken(wish, passage, output)
    plan, pieces = _planned(wish, passage, (unspoken, is_midi(output)), said.append)
    spoken = Spoken(wish.language, wish.voice)
    unsaid = write_track(plan, output, pieces=pieces, spoken=spoken, progress=progress)
    text = (
        f"{plan.title}: {plan.tempo_words}, {_minutes(plan.duration_s)}\n"
        f"Written to {output}. Start quiet, and keep the volume low with headphones."
    )
    document = track_json(plan, path=str(output), sample_rate=RATE)
    return Told(text, document, (output,), (*said, *map(not_spoken, sorted(unspoken)), *unsaid))


def planned(wish: TrackWish, passage: Passage, unspoken: frozenset[str] = frozenset()) -> Plan:
    """Return the plan of the track that ``wish`` asks for, without the landmarks ``unspoken``."""
    timeline = lay_out(passage, practice_of(counted_in(wish), passage))
    return plan_track(timeline, replace(wishes_of(wish), unspoken=unspoken))


def _planned(
    wish: TrackWish, passage: Passage, into: tuple[frozenset[str], bool], say: Tell
) -> tuple[Plan, tuple[Played, ...]]:
    """Return the plan, and the recordings that sound in it; ``say`` is told what is amiss in one.

    ``into`` is which landmarks are not spoken, and whether MIDI is written, which holds no model.
    """
    unspoken, as_midi = into
    wishes = replace(wishes_of(wish), unspoken=unspoken)
    with_tune = Layer.TUNE in wishes.layers and not as_midi and has_model(wish.passage)
    whole = passage
    if with_tune or Layer.ACCOMPANIMENT in wishes.layers:
        whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
    timeline, pieces = _beside(wish, passage, whole, say)
    plan = with_bars(plan_track(timeline, wishes), tuple(each.laid for each in pieces), timeline)
    if not with_tune:
        return plan, pieces
    plan, model = with_model(plan, timeline, wishes, Taught(wish.passage, whole), rate=RATE)
    return plan, (*pieces, *model)


def _beside(
    wish: TrackWish, passage: Passage, whole: Passage, say: Tell
) -> tuple[Timeline, tuple[Played, ...]]:
    """Return the timeline of the track, laid on the accompaniment where that is wished for."""
    if Layer.ACCOMPANIMENT not in layers_named(wish.layers):
        if wish.steady or wish.files != NO_FILES:
            raise RequestError(NOT_HEARD)
        return lay_out(passage, practice_of(counted_in(wish), passage)), ()
    laid = accompanied(
        wish, passage, whole, files=wish.files, even=wish.steady, lead_in=wish.lead_in
    )
    recording = laid.found.recording
    pieces = laid_pieces(laid.timeline, laid.found.mapped, Layer.ACCOMPANIMENT)
    spans = [second for piece in pieces for second, _ in piece.anchors]
    doubts = recording_doubts(recording, min(spans), max(spans))
    for doubt in (*doubts, *sound_doubts(wish.passage, wish.files)):
        say(doubt)
    return laid.timeline, played(pieces, recording, rate=RATE)


def _unspoken(wish: TrackWish, passage: Passage, output: Path) -> frozenset[str]:
    """Return the landmarks asked for that the voice has no words for; a MIDI file writes them all."""
    if not wish.landmarks or is_midi(output):
        return frozenset()
    landmarks = landmark_texts(passage)
    return landmarks - sayable(wish.language, landmarks, voice=own_voice(wish.voice))


def wishes_of(wish: TrackWish) -> Wishes:
    """Return what should be heard, from options as typed.

    Raises:
        RequestError: a layer that does not exist, or bars to answer without the rhythm in them.
    """
    layers = layers_named(wish.layers)
    if wish.echo and not layers & RHYTHM:
        raise RequestError(
            f"with {option('echo')} one answers a rhythm that was heard: add clap or tune to "
            f"{option('layers')}"
        )
    return Wishes(
        layers=layers,
        say=Say(wish.say),
        subdivide=wish.subdivide,
        quick=wish.quick,
        fade=wish.fade,
        counting=wish.counting,
        landmarks=wish.landmarks,
    )


def layers_named(text: str) -> frozenset[Layer]:
    """Return the layers in "clap,click,count".

    Raises:
        RequestError: a layer that does not exist.
    """
    names = [name.strip() for name in text.split(",") if name.strip()]
    allowed = [layer.value for layer in Layer]
    for name in names:
        if name not in allowed:
            raise RequestError(f"there is no layer {name!r}: choose from {', '.join(allowed)}")
    return frozenset(map(Layer, names))


def counted_in(wish: TrackWish) -> TrackWish:
    """Return ``wish`` with the bars of the quick count-in, where that was asked for."""
    if not wish.quick:
        return wish
    return replace(wish, count_in=QUICK_BARS)


def _minutes(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"
