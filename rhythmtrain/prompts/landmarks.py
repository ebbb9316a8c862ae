"""Landmarks said once, beforehand: "letter B", "piano has the tune", "second time".

They are said in the first run only, on the latest beat of the two bars before from which they
end before the landmark and stay clear of every entry; the counts that they cover are left out.
Where no such beat exists they are not said: an entry matters more.
"""

from collections.abc import Iterator

from rhythmtrain.prompts.entry_times import entry_times
from rhythmtrain.prompts.spots import beats_of
from rhythmtrain.prompts.words import WORD_ROOM_S, Rank, Word, word_at
from rhythmtrain.score.passage import Bar, Passage
from rhythmtrain.timing.timeline import Timeline

# About 175 words a minute, the pace of clear speech.
SECONDS_A_WORD = 0.35
BARS_BEFORE = 2
ENDINGS = {1: "first time", 2: "second time"}


def landmarks_of(bar: Bar) -> tuple[str, ...]:
    """Return the landmarks at the beginning of ``bar``, with "first time" and "second time"."""
    return (*((ENDINGS[bar.ending],) if bar.ending else ()), *bar.landmarks)


def landmark_texts(passage: Passage) -> frozenset[str]:
    """Return every landmark of ``passage``, for asking a voice which of them it can say."""
    return frozenset(text for bar in passage.bars for text in landmarks_of(bar))


def with_landmarks(
    timeline: Timeline, words: list[Word], unspoken: frozenset[str] = frozenset()
) -> list[Word]:
    """Return ``words`` with the landmarks said in place of the counts that they cover.

    Those in ``unspoken`` are left out.
    """
    for mark in _said(timeline, words, unspoken):
        end = mark.time_s + length_of(mark.text)
        words = [word for word in words if not _covered(word, mark.time_s, end)]
        words.append(mark)
    return sorted(words, key=lambda word: word.time_s)


def length_of(text: str) -> float:
    """Return about how many seconds it takes to say ``text``."""
    return max(WORD_ROOM_S, SECONDS_A_WORD * len(text.split()))


def _covered(word: Word, start_s: float, end_s: float) -> bool:
    return start_s - WORD_ROOM_S < word.time_s < end_s


def _said(timeline: Timeline, words: list[Word], unspoken: frozenset[str]) -> Iterator[Word]:
    blocked = [(time - WORD_ROOM_S, time + WORD_ROOM_S) for time in entry_times(timeline)]
    blocked += [
        (word.time_s, word.time_s + WORD_ROOM_S) for word in words if word.rank is Rank.SIGN
    ]
    done: set[tuple[int | None, str]] = set()
    for place, played in enumerate(timeline.bars):
        for text in landmarks_of(played.bar):
            if (played.index, text) in done or text in unspoken:
                continue
            done.add((played.index, text))
            mark = _before(timeline, place, text, blocked)
            if mark is not None:
                blocked.append((mark.time_s, mark.time_s + length_of(text)))
                yield mark


def _before(
    timeline: Timeline, place: int, text: str, blocked: list[tuple[float, float]]
) -> Word | None:
    here = timeline.track_seconds(timeline.bars[place].start)
    earlier = range(max(0, place - BARS_BEFORE), place)
    spots = [spot for bar in earlier for spot in beats_of(bar, timeline.bars[bar])]
    for spot in reversed(spots):
        start = timeline.track_seconds(spot.at)
        end = start + length_of(text)
        clear = all(end <= low or high <= start for low, high in blocked)
        if end <= here and clear:
            return word_at(timeline, spot, text, Rank.SIGN)
    return None
