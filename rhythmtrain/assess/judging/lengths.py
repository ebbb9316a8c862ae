"""How long notes were held, where the take knows: never a fault where it does not.

A pad or a key that is struck and let go says nothing of how long the note was meant, and neither do
claps.  So lengths are told only of a take in which most notes of some length were held most of
their length, and not all equally long whatever is written.  Players separate notes and leave a
little air before the next; only what lacks three quarters of a beat, or a third of the note, is
*cut short*, and of notes that lead straight on to the next still more must be lacking.  *Held on*
is a note that sounds well into a rest; in a room that echoes that cannot be told, so it is said only
where ends are known exactly (MIDI).  How much is a teacher's custom, not a measured line.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from rhythmtrain.assess.findings import Findings, NoteFinding
from rhythmtrain.assess.held_as import HeldAs, LengthFinding
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.score.counts import beat_at, place_of
from rhythmtrain.timing.timeline import Timeline

EXACT = ("midi", "keys")
SAME_ONSET_S = 0.002
# What a take must be like for its lengths to mean anything.
LONG_ENOUGH_S, FEWEST, HELD_MOST, MOST_OF_THEM = 0.4, 3, 0.6, 0.5
ALL_ALIKE, WRITTEN_UNLIKE = 1.25, 1.5
# From when on it is said.
LEAST_WRITTEN = 2.0
LACKS_BEATS, LACKS_SHARE, LACKS_S = 0.75, 0.3, 0.25
LEADS_ON_BEATS, LEADS_ON_SHARE = 1.0, 0.45
REST_BEATS = 1.0


@dataclass(frozen=True, slots=True)
class _Held:
    """A note with the seconds it was held and would be held as written, and the rest after it."""

    finding: NoteFinding
    held_s: float
    written_s: float
    written_beats: float
    rest_beats: float
    last: bool


def lengths_of(timeline: Timeline, take: Take, findings: Findings) -> tuple[LengthFinding, ...]:
    """Return how long each note was held whose end was heard; none where that means nothing.

    In free tempo a beat has no length of its own, so nothing is told.
    """
    if findings.timing == "free" or findings.looks_like is False:
        return ()
    held = list(_held(timeline, take, findings))
    if not _meant(held):
        return ()
    return tuple(_finding(each, exact=take.source in EXACT) for each in held)


def amiss(lengths: Iterable[LengthFinding]) -> tuple[LengthFinding, ...]:
    """Return what was held otherwise than written, cut-offs before rests first."""
    off = [each for each in lengths if each.verdict is not HeldAs.AS_WRITTEN]
    return tuple(sorted(off, key=lambda each: not each.before_rest))


def _held(timeline: Timeline, take: Take, findings: Findings) -> Iterator[_Held]:
    scale = timeline.practice.speed / findings.speed
    times = take.times_s
    starts = sorted(note.at for note in timeline.notes)
    for finding in findings.notes:
        heard = _heard(take.heard, times, finding.played_s)
        if heard is None or heard.length_s is None:
            continue
        played = timeline.notes[finding.note]
        bar = timeline.bars[played.place].bar
        at = place_of(bar.metre, played.note.count)
        beat = bar.metre.beats[beat_at(bar.metre, at)].length
        stop = played.at + played.note.length
        after = bisect_left(starts, stop)
        rest = (starts[after] - stop) / beat if after < len(starts) else 0
        yield _Held(
            finding,
            heard.length_s,
            float(timeline.seconds(stop) - timeline.seconds(played.at)) * scale,
            float(played.note.length / beat),
            float(rest),
            after == len(starts),
        )


def _heard(heard: Sequence[Heard], times: Sequence[float], played_s: float | None) -> Heard | None:
    """Return the onset that was taken for a note played at ``played_s``."""
    if played_s is None:
        return None
    near = bisect_left(times, played_s - SAME_ONSET_S)
    found = near < len(times) and times[near] <= played_s + SAME_ONSET_S
    return heard[near] if found else None


def _meant(held: Sequence[_Held]) -> bool:
    """Return whether the player held notes at all, and not each as long as the machine makes it."""
    some = [each for each in held if each.written_s >= LONG_ENOUGH_S]
    if len(some) < FEWEST:
        return False
    full = sum(each.held_s >= HELD_MOST * each.written_s for each in some)
    sizes, written = ([each.held_s for each in some], [each.written_s for each in some])
    alike = max(sizes) < ALL_ALIKE * max(min(sizes), SAME_ONSET_S)
    unlike = max(written) > WRITTEN_UNLIKE * min(written)
    return full >= MOST_OF_THEM * len(some) and not (alike and unlike)


def _finding(each: _Held, *, exact: bool) -> LengthFinding:
    beats = each.written_beats * each.held_s / each.written_s
    return LengthFinding(
        each.finding.bar,
        each.finding.count,
        each.finding.repeat,
        each.written_beats,
        beats,
        each.rest_beats > 0,
        _verdict(each, beats, exact=exact),
    )


def _verdict(each: _Held, beats: float, *, exact: bool) -> HeldAs:
    lacks, lacks_s = each.written_beats - beats, each.written_s - each.held_s
    rests = each.rest_beats > 0 or each.last
    least = max(
        LACKS_BEATS if rests else LEADS_ON_BEATS,
        (LACKS_SHARE if rests else LEADS_ON_SHARE) * each.written_beats,
    )
    if each.written_beats >= LEAST_WRITTEN and lacks >= least and lacks_s >= LACKS_S:
        return HeldAs.CUT_SHORT
    into_rest = exact and each.rest_beats >= REST_BEATS
    if into_rest and -lacks >= least and -lacks_s >= LACKS_S:
        return HeldAs.HELD_ON
    return HeldAs.AS_WRITTEN
