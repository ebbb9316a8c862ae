"""Making a practice track: from a passage and wishes to a file one can practise to."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from rhythmtrain.errors import RequestError
from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.prompts.audible import audible_bars
from rhythmtrain.prompts.landmarks import landmark_texts
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.accompaniment import NO_FILES, RecordingFiles, has_model, model_for
from rhythmtrain.rehearsal.passages import Wish, practice_of, whole_passage, wished_passage
from rhythmtrain.rehearsal.recording_doubts import recording_doubts
from rhythmtrain.rehearsal.score_passages import Say as Tell
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.rehearsal.track_recorded import accompanied, laid_pieces, played, with_bars
from rhythmtrain.render.midi import midi_bytes
from rhythmtrain.render.mixer import Sound
from rhythmtrain.render.recorded import Played
from rhythmtrain.render.track import track_blocks
from rhythmtrain.render.track_recorded import blocks_with_recordings
from rhythmtrain.render.words import Words
from rhythmtrain.report.track_json import track_json
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.sounds import load_words, sayable
from rhythmtrain.storage.word_files import OwnVoice
from rhythmtrain.timing.timeline import lay_out

RATE = 44_100
MIDI_ENDINGS = (".mid", ".midi")
QUICK_BARS = 2


@dataclass(frozen=True, slots=True)
class Quality:
    """How finely sound is written: samples a second, and one ear (1) or both (2)."""

    rate: int = RATE
    channels: int = 2


FULL = Quality()


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
    plan, pieces = _planned(wish, passage, unspoken, said.append)
    if pieces and not _is_midi(output):
        unsaid = write_recorded(plan, pieces, output, wish=wish, progress=progress)
    else:
        unsaid = write_track(
            plan, output, language=wish.language, voice=wish.voice, progress=progress
        )
    text = (
        f"{plan.title}: {plan.tempo_words}, {_minutes(plan.duration_s)}\n"
        f"Written to {output}. Start quiet, and keep the volume low with headphones."
    )
    document = track_json(plan, path=str(output), sample_rate=RATE)
    return Told(text, document, (output,), (*said, *map(_not_spoken, sorted(unspoken)), *unsaid))


def planned(wish: TrackWish, passage: Passage, unspoken: frozenset[str] = frozenset()) -> Plan:
    """Return the plan of the track that ``wish`` asks for, without the landmarks ``unspoken``."""
    timeline = lay_out(passage, practice_of(counted_in(wish), passage))
    return plan_track(timeline, replace(wishes_of(wish), unspoken=unspoken))


def _planned(
    wish: TrackWish, passage: Passage, unspoken: frozenset[str], say: Tell
) -> tuple[Plan, tuple[Played, ...]]:
    """Return the plan, and the recordings that sound in it; ``say`` is told what is amiss in one."""
    wishes = replace(wishes_of(wish), unspoken=unspoken)
    with_model = Layer.TUNE in wishes.layers and has_model(wish.passage)
    if Layer.ACCOMPANIMENT not in wishes.layers and not with_model:
        if wish.steady or wish.files != NO_FILES:
            raise RequestError("add accompaniment to --layers, so that the recording is heard")
        return planned(wish, passage, unspoken), ()
    whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
    laid: list[Played] = []
    if Layer.ACCOMPANIMENT in wishes.layers:
        found = accompanied(
            wish, passage, whole, files=wish.files, even=wish.steady, lead_in=wish.lead_in
        )
        timeline = found.timeline
        pieces = laid_pieces(timeline, found.found.mapped, Layer.ACCOMPANIMENT)
        laid += played(pieces, found.found.recording, rate=RATE)
        spans = [second for piece in pieces for second, _ in piece.anchors]
        for doubt in recording_doubts(found.found.recording, min(spans), max(spans)):
            say(doubt)
    else:
        timeline = lay_out(passage, practice_of(counted_in(wish), passage))
    plan = plan_track(timeline, wishes)
    if with_model:
        audible = audible_bars(timeline, wishes)
        model = model_for(wish.passage, passage, whole=whole)
        pieces = laid_pieces(
            timeline, model.mapped, Layer.TUNE, lambda place: Layer.TUNE in audible[place].layers
        )
        laid += played(pieces, model.recording, rate=RATE)
        prompts = tuple(each for each in plan.prompts if each.layer is not Layer.TUNE)
        plan = replace(plan, prompts=prompts)
    return with_bars(plan, tuple(each.laid for each in laid), timeline), tuple(laid)


def write_recorded(
    plan: Plan,
    pieces: tuple[Played, ...],
    output: Path,
    *,
    wish: TrackWish,
    quality: Quality = FULL,
    progress: Progress = quietly,
) -> tuple[str, ...]:
    """Write ``plan`` with its recordings to ``output``; return what was left unsaid.

    ``pieces`` are at the rate of ``quality``; ``wish`` tells the language and the voice.
    """
    said, words, unsaid = worded(plan, wish.language, wish.voice, quality.rate)
    write_audio(
        output,
        blocks_with_recordings(said, pieces, words, quality.rate, channels=quality.channels),
        quality.rate,
        title=plan.title,
        comment=plan.tempo_words,
        progress=lambda done: progress(done, plan.duration_s, f"writing {output.name}"),
    )
    return unsaid


def _unspoken(wish: TrackWish, passage: Passage, output: Path) -> frozenset[str]:
    """Return the landmarks asked for that the voice has no words for; a MIDI file writes them all."""
    if not wish.landmarks or _is_midi(output):
        return frozenset()
    landmarks = landmark_texts(passage)
    return landmarks - sayable(wish.language, landmarks, voice=_own(wish.voice))


def write_track(
    plan: Plan,
    output: Path,
    *,
    language: str = "en",
    voice: Path | None = None,
    quality: Quality = FULL,
    progress: Progress = quietly,
) -> tuple[str, ...]:
    """Write ``plan`` to ``output`` as sound or MIDI, by its ending; return what was left unsaid."""
    if _is_midi(output):
        write_bytes_safely(output, midi_bytes(plan))
        return ()
    blocks, unsaid = sounded(plan, language=language, voice=voice, quality=quality)
    write_audio(
        output,
        blocks,
        quality.rate,
        title=plan.title,
        comment=plan.tempo_words,
        progress=lambda done: progress(done, plan.duration_s, f"writing {output.name}"),
    )
    return unsaid


def sounded(
    plan: Plan,
    *,
    language: str = "en",
    voice: Path | None = None,
    quality: Quality = FULL,
    pieces: tuple[Played, ...] = (),
) -> tuple[Iterator[Sound], tuple[str, ...]]:
    """Return the sound of ``plan`` in blocks of shape ``(n, channels)``, and what is left unsaid.

    ``pieces`` of recordings, at the rate of ``quality``, sound with it.
    """
    said, words, unsaid = worded(plan, language, voice, quality.rate)
    if pieces:
        blocks = blocks_with_recordings(
            said, pieces, words, quality.rate, channels=quality.channels
        )
        return blocks, unsaid
    return track_blocks(said, words, quality.rate, channels=quality.channels), unsaid


def worded(
    plan: Plan, language: str, voice: Path | None, rate: int
) -> tuple[Plan, Words, tuple[str, ...]]:
    """Return ``plan`` with the words that can be said, these words, and what is left unsaid.

    Raises:
        RequestError, FileError: a language there are no words for, a voice that does not read.
    """
    own = _own(voice)
    keys = {prompt.text for prompt in plan.prompts if prompt.layer is Layer.COUNT}
    known = sayable(language, keys, voice=own)
    spoken = tuple(
        prompt for prompt in plan.prompts if prompt.layer is not Layer.COUNT or prompt.text in known
    )
    words = load_words(language, known, rate=rate, voice=own)
    return replace(plan, prompts=spoken), words, tuple(map(_not_spoken, sorted(keys - known)))


def _is_midi(output: Path) -> bool:
    return output.suffix.lower() in MIDI_ENDINGS


def _own(voice: Path | None) -> OwnVoice | None:
    return OwnVoice(voice, beat_point) if voice is not None else None


def _not_spoken(text: str) -> str:
    return (
        f"{text!r} is not spoken: record it as a word of your own and give its folder with --voice"
    )


def wishes_of(wish: TrackWish) -> Wishes:
    """Return what should be heard, from options as typed."""
    return Wishes(
        layers=layers_named(wish.layers),
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
