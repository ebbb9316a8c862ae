"""What the history keeps of a take: onsets, the passage as it was then, and what was heard.

A record is complete in itself.  It holds the onsets and the passage as drill text, so that a take
can be judged again when the rules improve or the drill was changed; and the document of the check,
so that it can be shown as it was told.  The day of a take is the date on the player's own clock:
practice spaced over nights counts, so the date matters more than the hour.
"""

import json
import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise
from typing import Any

from rhythmtrain.capture.take import Heard
from rhythmtrain.errors import TakeError
from rhythmtrain.score.countline.short_bars import CutShort
from rhythmtrain.timing.playing_order import Practice

LONGEST_TEXT = 1_000_000
TEXTS = ("passage_name", "title", "bars", "timing", "source", "instrument", "help", "drill")
AS_WRITTEN = Practice()
# Quarters of a timeline and seconds, in order.
Laid = tuple[tuple[Fraction, float], ...]


@dataclass(frozen=True, slots=True)
class Conditions:
    """How a take was practised and heard, as far as judging it again needs it.

    ``start_s`` is the second of the take at which bar 1 begins, None where that was found;
    ``speed_known`` is False where the tempo was found.  ``reached`` is how many notes of the
    timeline were reached, None for all of them; ``stopped`` says that the player broke off.
    ``bar_numbers`` are those printed, one for each bar of the drill text; ``cut_short`` are its bars
    that are shorter than their metre and stand there in one of their own.  Of a take that was played
    with a recording, ``anchors`` say at which second, from bar 1 on, each mapped place fell at the
    speed it was played at, ``doubts`` how well each was known, both by quarters of the timeline; and
    ``meet`` the bars in which the two had to meet, None where every note was held.  ``strokes`` are the
    accompanist's, as in ``Timeline``; ``one_go`` as in ``Settings``.
    """

    practice: Practice = AS_WRITTEN
    start_s: float | None = None
    speed_known: bool = True
    delay_known: bool = True
    stopped: bool = False
    reached: int | None = None
    bar_numbers: tuple[int, ...] = ()
    anchors: Laid = ()
    doubts: Laid = ()
    meet: tuple[int, ...] | None = None
    strokes: Laid = ()
    one_go: bool = False
    cut_short: tuple[CutShort, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot be judged again."""
        numbers = [*self.bar_numbers, *([] if self.reached is None else [self.reached])]
        if not all(0 <= number < 2**31 for number in numbers):
            raise TakeError("bar numbers and notes reached must be whole numbers from 0")
        if self.start_s is not None and not math.isfinite(self.start_s):
            raise TakeError(f"the start must be a number of seconds, got {self.start_s}")
        if not all(math.isfinite(second) for _, second in (*self.anchors, *self.doubts)):
            raise TakeError("a beat of the recording is not a number of seconds")


UNKNOWN = Conditions()


@dataclass(frozen=True, slots=True)
class TakeRecord:
    """One take to be kept.

    ``passage_name`` is the name under which takes of a passage are found together, ``title`` what
    people read, ``bars`` "17-24" where only those were practised.  ``speed`` is played over
    written tempo.  ``timing`` is what was followed, ``source`` where the onsets came from,
    ``instrument`` what was listened for.  ``played_at`` knows its time zone; its date is the day
    of practice.  ``document`` is the JSON document of the check.  ``help`` names what helped the
    player ("no help" where nothing did), None where nobody knows.  ``drill`` is the passage as
    drill text, empty where it cannot be written so.  ``hidden_s`` is when an onset may have gone
    unheard beside a loudspeaker, in seconds of the take.

    Raises:
        TakeError: a value that cannot be kept.
    """

    passage_name: str
    title: str
    bars: str | None
    speed: float
    repeats: int
    timing: str
    source: str
    instrument: str
    played_at: datetime
    onsets: tuple[Heard, ...]
    duration_s: float
    document: dict[str, Any] = field(hash=False)
    help: str | None = None
    drill: str = ""
    conditions: Conditions = UNKNOWN
    hidden_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what could not be read back as it was."""
        for name in TEXTS:
            _check_text(name, getattr(self, name))
        if self.played_at.utcoffset() is None:
            raise TakeError("the time at which a take was played must name its time zone")
        if not (math.isfinite(self.speed) and self.speed > 0):
            raise TakeError(f"speed must be more than 0 (1 is as written), got {self.speed}")
        if not 1 <= self.repeats < 2**31:
            raise TakeError(f"repeats must be 1 or more, got {self.repeats}")
        if not (math.isfinite(self.duration_s) and self.duration_s >= 0):
            raise TakeError(f"a take must last 0 seconds or more, got {self.duration_s}")
        _check_onsets(self.onsets)
        if not all(math.isfinite(time_s) for time_s in self.hidden_s):
            raise TakeError("a time at which an onset may be hidden is not a number of seconds")
        try:
            json.dumps(self.document, allow_nan=False, ensure_ascii=False).encode()
        except (TypeError, ValueError, RecursionError) as error:
            raise TakeError(f"the document of a take must be plain JSON: {error}") from error

    @property
    def day(self) -> str:
        """Return the date on the player's clock, such as "2026-03-01"."""
        return self.played_at.date().isoformat()


@dataclass(frozen=True, slots=True)
class KeptTake:
    """A take in the history, with its number."""

    id: int
    record: TakeRecord


def _check_text(name: str, text: str | None) -> None:
    if text is None and name in ("bars", "help"):
        return
    if not isinstance(text, str) or len(text) > LONGEST_TEXT or "\0" in text:
        raise TakeError(f"{name} of a take must be text of at most {LONGEST_TEXT} letters")
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise TakeError(f"{name} of a take holds half a letter that cannot be written") from error


def _check_onsets(onsets: tuple[Heard, ...]) -> None:
    for each in onsets:
        values = (each.time_s, each.strength, each.uncertainty_s, each.length_s or 0.0)
        if not all(math.isfinite(value) for value in values):
            raise TakeError("an onset of the take is not a number of seconds")
    if any(after.time_s < before.time_s for before, after in pairwise(onsets)):
        raise TakeError("the onsets of the take run backwards")


def utc_text(time: datetime) -> str:
    """Return a time so that the text sorts as time does."""
    return time.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")
