"""Before an entry: "ready", then nothing until the player comes in.

The word of preparation falls so many beats ahead of the entry and replaces the count there.  No
word ever sounds on an entry: the count of its own place is left out, and so is every word that
would still be sounding then, or whose first consonant would already be heard before its beat.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from fractions import Fraction

from rhythmtrain.prompts.audible import Audible
from rhythmtrain.prompts.entry_times import entry_times, heard_entries
from rhythmtrain.prompts.spots import beats_of, spot_at
from rhythmtrain.prompts.words import ROUNDING_S, WORD_ROOM_S, Rank, Word, crowded, word_at
from rhythmtrain.timing.timeline import PlayedEntry, Timeline

# A count whose beat lies this soon after an entry is left out, for it would begin on the entry:
# the English numbers and counting syllables sound for up to 93 ms before their beat point.  Some
# words begin earlier (audio_samples: "your turn" 202 ms; German two 162, Dutch two 135, Spanish 40
# to 99 up to 209).  Of these the rendering leaves out the beginning, up to half way from the entry
# to their beat, so nothing sounds on an entry in any language.
WORD_ONSET_S = 0.100


def preparations(timeline: Timeline, audible: tuple[Audible, ...]) -> Iterator[Word]:
    """Yield the word of preparation before each entry where it is to be said and has room.

    Where beats are so quick that it would run into the entry it is said a beat or more earlier.
    """
    axis = _beat_axis(timeline)
    for entry in heard_entries(timeline):
        if not audible[timeline.notes[entry.note].place].prepares:
            continue
        at = _prepared(timeline, axis, entry)
        if at is not None:
            yield word_at(timeline, spot_at(timeline, at), entry.entry.word, Rank.SIGN)


def off_entries(timeline: Timeline, words: Iterable[Word]) -> list[Word]:
    """Return ``words`` without those that would sound on an entry."""
    entries = entry_times(timeline)

    def on_entry(word: Word) -> bool:
        index = bisect_right(entries, word.time_s - WORD_ONSET_S)
        return any(
            entry - word.time_s < WORD_ROOM_S - ROUNDING_S for entry in entries[index : index + 1]
        )

    return [word for word in words if not on_entry(word)]


def _beat_axis(timeline: Timeline) -> list[Fraction]:
    beats = [
        spot.at for place, played in enumerate(timeline.bars) for spot in beats_of(place, played)
    ]
    return [*beats, timeline.stop]


def _prepared(timeline: Timeline, axis: list[Fraction], entry: PlayedEntry) -> Fraction | None:
    """Return where the entry's preparation falls, or None where that is before the track."""
    at = timeline.notes[entry.note].at
    ahead = entry.entry.prepare
    while (place := beats_before(axis, at, ahead)) is not None:
        if not crowded(timeline.track_seconds(at) - timeline.track_seconds(place)):
            return place
        ahead += 1
    return None


def beats_before(axis: list[Fraction], at: Fraction, beats: Fraction) -> Fraction | None:
    """Return the place ``beats`` beats before ``at``, or None before the first beat.

    ``axis`` holds every beat and the end; a place inside a beat keeps its share of the beat.
    """
    index = min(bisect_right(axis, at) - 1, len(axis) - 2)
    if index < 0:
        return None
    position = index + (at - axis[index]) / (axis[index + 1] - axis[index]) - beats
    if position < 0:
        return None
    whole = int(position)
    return axis[whole] + (position - whole) * (axis[whole + 1] - axis[whole])
