"""What was heard in a take, held against the passage: the values every report reads.

Offsets are played minus written, in seconds: **positive is late**.  ``offset_s`` is raw; a note's
verdict is about its offset from the player's own habit in this take (the median), because a
steady earliness beside a click is how people clap, not a fault.
"""

from dataclasses import dataclass
from enum import StrEnum

from rhythmtrain.assess.clapped_rows import Instead
from rhythmtrain.assess.held_as import LengthFinding

# Fewer notes than a dozen: what is said of them may be luck, and so nothing may be said to be done.
THIN_NOTES = 12
FEW_NOTES = "with so few notes little can be told for certain"
# How a remark ends on what can be told once the start is given.
BY_START = "that takes the second at which bar 1 begins"
# How a remark ends on what can be told once the start is given.
BY_START = "that takes the second at which bar 1 begins"


class Verdict(StrEnum):
    """What is said of a single note."""

    IN_TIME = "in time"
    EARLY = "early"
    LATE = "late"
    MISSED = "missed"
    NOT_CHECKED = "not checked"


@dataclass(frozen=True, slots=True)
class NoteFinding:
    """One written note as played; ``plain`` when it lies beyond what honest players do.

    ``expected_s`` and ``played_s`` are seconds of the take; ``window_s`` is how far from the
    player's habit a note may lie and still be in time (half-width, 95 % of honest players).
    ``note`` is the index of the note in the timeline.  ``away_s`` is how far from the player's
    habit it came, seen from where its phrase came in: what the verdict is about.  ``meets`` is
    True for a note of free playing that was held against the recording.
    """

    note: int
    bar: int
    count: str
    repeat: int
    expected_s: float
    played_s: float | None
    offset_s: float | None
    verdict: Verdict
    plain: bool
    window_s: float
    away_s: float | None = None
    meets: bool = False


@dataclass(frozen=True, slots=True)
class Extra:
    """A clap that belongs to no note, with the nearest bar and count."""

    time_s: float
    bar: int
    count: str


@dataclass(frozen=True, slots=True)
class Mistake:
    """A figure played as another figure: ``what`` names it ("dotted played even").

    ``notes`` are indices into ``Findings.notes``, of every place where it came, in order; ``bar``
    and ``count`` are of the first.  ``times`` of ``of`` says how often of the chances it came.
    """

    bar: int
    count: str
    what: str
    notes: tuple[int, ...]
    times: int
    of: int


@dataclass(frozen=True, slots=True)
class EntryFinding:
    """One entry as played; ``verdict`` is the class alone ("one beat early", "in time").

    ``wrong_cue`` is the bar after whose cue it came, where the accompanist plays there what leads
    to the entry.
    """

    bar: int
    count: str
    repeat: int
    rest_bars: int
    rest_beats: float
    offset_s: float | None
    offset_beats: float | None
    verdict: str
    sentence: str
    wrong_cue: int | None = None


@dataclass(frozen=True, slots=True)
class BarFinding:
    """One bar, over all repeats."""

    bar: int
    matched: int
    missed: int
    extra: int
    median_offset_s: float | None
    sd_s: float | None


@dataclass(frozen=True, slots=True)
class Try:
    """One run through the passage, or part of it, within the take."""

    from_bar: int
    to_bar: int
    start_s: float
    complete: bool


@dataclass(frozen=True, slots=True)
class Tally:
    """How many notes were expected, matched, missed, extra and not checked."""

    expected: int
    matched: int
    missed: int
    extra: int
    not_checked: int


@dataclass(frozen=True, slots=True)
class Spread:
    """The offsets together, in seconds: ``low`` to ``high`` is where the true habit lies (95 %)."""

    median_s: float
    mean_s: float
    sd_s: float
    low_s: float
    high_s: float


@dataclass(frozen=True, slots=True)
class Findings:
    """All that was heard of one take.

    ``speed`` is played over written tempo; ``timing`` is what the player followed ("click",
    "recording", "free"); ``looks_like`` is None where fewer than 12 notes cannot tell; ``start``
    is "given" or "found"; ``shift_beats`` is not None when everything was played so many beats
    away; ``shown`` is the index in ``tries`` of the one the rest is about; ``drift_percent`` is
    positive when getting faster; ``unsteady_s`` is the robust spread of single notes once habit
    and drift are taken out, ``slips`` are indices into ``notes`` of those far outside it;
    ``uncertainty_s`` is how finely anything here can be told; ``lengths`` are of those notes whose
    end was heard, none where none was; ``instead`` is what was clapped in place of the rhythm.
    """

    timing: str
    speed: float
    tempo_found: bool
    looks_like: bool | None
    start: str
    start_s: float
    tries: tuple[Try, ...]
    shown: int
    shift_beats: float | None
    tally: Tally
    spread: Spread | None
    drift_percent: float | None
    uncertainty_s: float
    notes: tuple[NoteFinding, ...]
    extras: tuple[Extra, ...]
    mistakes: tuple[Mistake, ...]
    entries: tuple[EntryFinding, ...]
    bars: tuple[BarFinding, ...]
    remarks: tuple[str, ...] = ()
    unsteady_s: float | None = None
    slips: tuple[int, ...] = ()
    lengths: tuple[LengthFinding, ...] = ()
    instead: Instead | None = None
