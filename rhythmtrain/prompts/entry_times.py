"""Where the entries fall in a track: those the player makes, and the same ones heard before.

In echo practice an entry is first listened to.  It is kept as free of words there as in the
answer, so that one hears what coming in alone sounds like.
"""

from rhythmtrain.timing.timeline import PlayedEntry, PlayedNote, Role, Timeline

Which = tuple[int, int, int | None, str]


def heard_entries(timeline: Timeline) -> tuple[PlayedEntry, ...]:
    """Return the entries of ``timeline`` in order, with those in bars to listen to."""
    listened = {
        _which(timeline, note): index
        for index, note in enumerate(timeline.notes)
        if note.role is Role.LISTEN
    }
    found = list(timeline.entries)
    for each in timeline.entries:
        twin = listened.get(_which(timeline, timeline.notes[each.note]))
        if twin is not None:
            found.append(PlayedEntry(each.entry, twin))
    return tuple(sorted(found, key=lambda each: each.note))


def entry_times(timeline: Timeline) -> list[float]:
    """Return the track seconds of the entries, in order."""
    return [
        float(timeline.track_seconds(timeline.notes[e.note].at)) for e in heard_entries(timeline)
    ]


def _which(timeline: Timeline, note: PlayedNote) -> Which:
    """Return what an answer shares with what it answers."""
    return note.run, note.repeat, timeline.bars[note.place].index, note.note.count
