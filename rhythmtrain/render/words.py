"""Spoken words on the beat: each placed by its beat point, cut where it would be in the way.

A word is heard *when its vowel rises*, not at its first sample, so it begins that much before the
prompt's time.  Its beat seldom lies on a sample: the word is moved by the missing part of one, so
that count and click meet on the same sample.  Two words never sound together, and no word sounds
on an entry:

- a word that would run into the next one ends, with a short fade, where the next begins;
- where the next would begin before half way between the two beats, they meet half way, and the
  next one's beginning is faded in there (sixteenths at a high tempo);
- an entry stands in the row like a word without a beginning: what comes before ends there, and
  what comes after begins no earlier than half way to its own beat;
- a word whose beat is on the entry itself is not spoken;
- what a word needs before the track's first sample is not there to be heard.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Prompt
from rhythmtrain.render.loudness import loudness
from rhythmtrain.render.mixer import Placed, Sound
from rhythmtrain.units import samples_at

FADE_IN_S = 0.004
FADE_OUT_S = 0.012
ON_THE_ENTRY_S = 0.02
# In samples: a shift too small for any ear, and the silence that keeps the end off the beginning.
NOT_MOVED = 1e-6
RING = 64

Words = Mapping[str, tuple[NDArray[np.float32], float]]


@dataclass(frozen=True, slots=True)
class Word:
    """A spoken word: mono samples at the track's rate, the sample of its beat, its loudness."""

    sound: Sound
    beat: int
    lufs: float


@dataclass(frozen=True, slots=True)
class _Said:
    """A word in the track: where its sound and its beat fall, and where it may be heard."""

    word: Word
    starts: int
    beat_at: int
    begin: int
    stop: int


def spoken(
    prompts: Sequence[Prompt], words: Words, entries_s: Sequence[float], *, rate: int, lufs: float
) -> Iterator[Placed]:
    """Yield the words of ``prompts``, each with its beat on its prompt's sample, at ``lufs``.

    ``words`` gives for each prompt's text its samples at ``rate`` and its beat point in seconds
    from its first sample; ``entries_s`` are the track seconds on which nothing may be spoken.

    Raises:
        RequestError: a text for which there is no word.
    """
    known = known_words({prompt.text for prompt in prompts}, words, rate)
    entries = [samples_at(entry, rate) for entry in entries_s]
    near = samples_at(ON_THE_ENTRY_S, rate)
    said = []
    for prompt in prompts:
        at = samples_at(prompt.time_s, rate)
        if not any(abs(at - entry) <= near for entry in entries):
            word = known[prompt.text]
            starts = at - word.beat
            said.append(_Said(word, starts, at, starts, starts + len(word.sound)))
    for each in _kept_apart([*said, *(_silence(entry) for entry in entries)]):
        if each.stop > each.begin:
            yield _placed(each, rate, lufs)


def known_words(texts: Iterable[str], words: Words, rate: int) -> dict[str, Word]:
    """Return what the mixer needs of each word; RequestError names those that are not there."""
    wanted = sorted(texts)
    if missing := [text for text in wanted if text not in words]:
        raise RequestError(f"no spoken word for {', '.join(map(repr, missing))}: load it first")
    return {text: _word(*words[text], rate) for text in wanted}


def _word(samples: NDArray[np.float32], beat_point_s: float, rate: int) -> Word:
    sound = np.ascontiguousarray(samples, dtype=np.float32)
    beat = samples_at(beat_point_s, rate)
    return Word(moved(sound, beat - beat_point_s * rate), beat, loudness(sound, rate))


def moved(sound: Sound, later: float) -> Sound:
    """Return ``sound``, as long as before, a part of a sample ``later`` (negative: sooner).

    The phase of its spectrum is turned, which is exact for a sound that begins and ends softly.
    """
    if abs(later) < NOT_MOVED:
        return sound
    length = len(sound) + RING
    turn = np.exp(-2j * np.pi * later * np.fft.rfftfreq(length))
    return np.fft.irfft(np.fft.rfft(sound, length) * turn, length)[: len(sound)].astype(np.float32)


def _silence(at: int) -> _Said:
    nothing = np.zeros(0, dtype=np.float32)
    return _Said(Word(nothing, 0, -np.inf), at, at, at, at)


def _kept_apart(said: list[_Said]) -> Iterator[_Said]:
    """Yield ``said`` in order of their beats, each between the meeting points with its neighbours."""
    row = sorted(said, key=lambda each: each.beat_at)
    meetings = [
        max(after.begin, (before.beat_at + after.beat_at) // 2) for before, after in pairwise(row)
    ]
    opens = [0, *meetings] if row else []
    for each, first, last in zip(row, opens, [*meetings, row[-1].stop] if row else [], strict=True):
        yield replace(each, begin=max(each.begin, first), stop=min(each.stop, last))


def _placed(each: _Said, rate: int, lufs: float) -> Placed:
    skip = each.begin - each.starts
    length = each.stop - each.begin
    make = partial(cut, each.word.sound, skip, skip + length, rate)
    gain = 10 ** ((lufs - each.word.lufs) / 20) if np.isfinite(each.word.lufs) else 0.0
    return Placed(each.begin, length, make, gain)


def cut(sound: Sound, first: int, last: int, rate: int) -> Sound:
    """Return ``sound`` from ``first`` to ``last``, faded at an end only where something was cut."""
    kept = sound[first:last].copy()
    if first > 0:
        size = min(round(FADE_IN_S * rate), len(kept))
        kept[:size] *= np.linspace(0, 1, size, endpoint=False, dtype=np.float32)
    if last < len(sound):
        size = min(round(FADE_OUT_S * rate), len(kept))
        kept[len(kept) - size :] *= 0.5 + 0.5 * np.cos(np.linspace(0, np.pi, size)).astype("f4")
    return kept
