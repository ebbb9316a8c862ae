"""A phrase in a loop: what was heard of one time through, said in the counted bar after it.

Nothing is said while the player claps.  Only what comes first is said here; the whole is told when
the loop was stopped.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from textwrap import wrap

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.rehearsal.checking.checked import Asked, judged
from rhythmtrain.timing.timeline import Timeline, lay_out

AROUND_S = 0.2
MOST_LINES = 5
WIDEST = 80


class Rounds:
    """The times through a phrase."""

    def __init__(
        self, timeline: Timeline, source: str, asked: Asked, *, timing: str = "click"
    ) -> None:
        """Take the whole loop; each time through is held against one alone, as in ``Settings``.

        A recording plays every time alike, so the first time tells the tempo of all.
        """
        once = lay_out(timeline.passage, replace(timeline.practice, repeats=1))
        strokes = tuple((at, sure) for at, sure in timeline.strokes if at < once.stop)
        self._once = replace(once, tempo=timeline.tempo, doubts=timeline.doubts, strokes=strokes)
        self._timing = timing
        self._source = source
        self._asked = asked
        self._starts_s: dict[int, float] = {}
        self._stops_s: dict[int, float] = {}
        for played in timeline.bars:
            if played.index is not None:
                start_s = float(timeline.track_seconds(played.start))
                self._starts_s.setdefault(played.run, start_s)
                self._stops_s[played.run] = float(timeline.track_seconds(played.stop))

    def said(self, run: int, claps_s: Sequence[float], columns: int) -> tuple[str, ...]:
        """Return what was heard the ``run``-th time, in lines; nothing where nobody clapped.

        ``claps_s`` are all claps so far, in track time.
        """
        first_s, last_s = self._starts_s[run] - AROUND_S, self._stops_s[run] + AROUND_S
        shift_s = self._starts_s[run] - self._starts_s[1]
        mine = sorted(time - shift_s for time in claps_s if first_s <= time <= last_s)
        if not mine:
            return ()
        take = Take(self._source, "", tuple(map(Heard, mine)), mine[-1])
        start_s = float(self._once.track_seconds(Fraction(0)))
        settings = Settings(self._timing, start_s, self._once.practice.speed)
        said = judged(self._once, take, settings, self._asked).said
        words = [words for _, words in said.labelled[:2]]
        lines = [line for each in words for line in wrap(each, min(columns, WIDEST))]
        return tuple(lines[:MOST_LINES])
