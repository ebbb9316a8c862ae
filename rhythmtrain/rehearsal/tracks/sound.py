"""A planned track made into sound and written: words, clicks, and the recordings laid in it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.rehearsal.told import Progress, quietly
from rhythmtrain.remedies import remedy
from rhythmtrain.render.midi import midi_bytes
from rhythmtrain.render.mixer import Sound
from rhythmtrain.render.recorded import Played
from rhythmtrain.render.track import track_blocks
from rhythmtrain.render.track_recorded import blocks_with_recordings
from rhythmtrain.render.words import Words
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.sounds import load_words, sayable
from rhythmtrain.storage.word_files import OwnVoice

RATE = 44_100
MIDI_ENDINGS = (".mid", ".midi")


@dataclass(frozen=True, slots=True)
class Quality:
    """How finely sound is written: samples a second, and one ear (1) or both (2)."""

    rate: int = RATE
    channels: int = 2


FULL = Quality()


@dataclass(frozen=True, slots=True)
class Spoken:
    """The language in which is counted, and the folder of an own voice, if any."""

    language: str = "en"
    voice: Path | None = None


IN_ENGLISH = Spoken()


def write_track(
    plan: Plan,
    output: Path,
    *,
    pieces: tuple[Played, ...] = (),
    spoken: Spoken = IN_ENGLISH,
    quality: Quality = FULL,
    progress: Progress = quietly,
) -> tuple[str, ...]:
    """Write ``plan`` to ``output`` as sound or MIDI, by its ending; return what was left unsaid.

    ``pieces`` of recordings are at the rate of ``quality``; MIDI holds none of them.

    Raises:
        RequestError, FileError: a language there are no words for, a file that cannot be written.
    """
    if is_midi(output):
        write_bytes_safely(output, midi_bytes(plan))
        return ()
    blocks, unsaid = sounded(
        plan, language=spoken.language, voice=spoken.voice, quality=quality, pieces=pieces
    )
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
    own = own_voice(voice)
    keys = {prompt.text for prompt in plan.prompts if prompt.layer is Layer.COUNT}
    known = sayable(language, keys, voice=own)
    spoken = tuple(
        prompt for prompt in plan.prompts if prompt.layer is not Layer.COUNT or prompt.text in known
    )
    words = load_words(language, known, rate=rate, voice=own)
    return replace(plan, prompts=spoken), words, tuple(map(not_spoken, sorted(keys - known)))


def is_midi(output: Path) -> bool:
    """Tell whether ``output`` is a MIDI file by its name."""
    return output.suffix.lower() in MIDI_ENDINGS


def own_voice(voice: Path | None) -> OwnVoice | None:
    """Return the voice recorded in a folder, None for the one that comes with the program."""
    return OwnVoice(voice, beat_point) if voice is not None else None


def not_spoken(text: str) -> str:
    """Return what is said of a word that the voice does not have."""
    return f"{text!r} is not spoken: {remedy('record-the-word')}"
