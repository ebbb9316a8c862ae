"""Practising one entry: how many bars lead in to it, with how much help, and when it is learnt.

The lead-in varies, because whoever always starts two bars before the entry learns two bars of
counting: practice that varies is slower at first and holds better (Shea and Morgan 1979).  So the
lengths that fit before the entry come in changing order, never the same twice in a row where there
is a choice; and the first try without help, or else the middle one, is from the top.

A course ends after a set number of tries, or when three in a row were in time without help.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import Protocol

from rhythmtrain.coach.help import next_help
from rhythmtrain.errors import RequestError

LEADS = (2, 4, 8)
IN_A_ROW = 3
MOST_TRIES = 12
LARGEST_COURSE = 100
FEWEST_LATE = 3
STEADILY = 0.75


class Chance(Protocol):
    """A random generator: ``random.Random`` or numpy's."""

    def random(self) -> float:
        """Return a number from 0 up to 1."""
        ...


@dataclass(frozen=True, slots=True)
class Try:
    """One try to be made: ``lead`` bars before that of the entry, on step ``help`` of help.

    ``from_top`` says that it begins where the passage does.
    """

    lead: int
    help: int
    from_top: bool = False


@dataclass(frozen=True, slots=True)
class Tried:
    """A try and how it went: ``good`` in time, ``late`` where only a little late."""

    tried: Try
    good: bool
    late: bool = False


@dataclass(frozen=True, slots=True)
class Course:
    """What is practised: ``bars`` before the entry's bar, ``steps`` of help, ``most`` tries.

    Raises:
        RequestError: a number of tries nobody could mean.
    """

    bars: int
    steps: int
    most: int = MOST_TRIES

    def __post_init__(self) -> None:
        """Refuse what cannot be practised."""
        if not 1 <= self.most <= LARGEST_COURSE:
            raise RequestError(f"tries must be 1 to {LARGEST_COURSE}, got {self.most}")

    @property
    def leads(self) -> tuple[int, ...]:
        """Return the lengths of lead-in that fit; all there is where the shortest does not."""
        return tuple(lead for lead in LEADS if lead <= self.bars) or (self.bars,)


def next_try(course: Course, done: Sequence[Tried], chance: Chance) -> Try | None:
    """Return the next try after ``done``, or None where the course is over.

    ``chance`` is asked once for every try that is returned.
    """
    if len(done) >= course.most or learnt(course, done):
        return None
    step = next_help(done[-1].tried.help, good=done[-1].good, steps=course.steps) if done else 0
    drawn = chance.random()
    topped = any(each.tried.from_top for each in done)
    if not topped and (step == course.steps - 1 or len(done) >= course.most // 2):
        return Try(course.bars, step, from_top=True)
    return Try(_lead(course, done, drawn), step)


def learnt(course: Course, done: Sequence[Tried]) -> bool:
    """Return whether the last three tries were in time without help."""
    alone = course.steps - 1
    row = takewhile(lambda each: each.good and each.tried.help == alone, reversed(done))
    return sum(1 for _ in row) >= IN_A_ROW


def waits_to_hear(done: Sequence[Tried]) -> bool:
    """Return whether the player comes in a little late as a rule, as one does who waits to hear."""
    late = sum(each.late for each in done)
    return late >= FEWEST_LATE and late >= STEADILY * len(done)


def _lead(course: Course, done: Sequence[Tried], drawn: float) -> int:
    """Return a lead-in: one of those used least so far, and not the last one again."""
    last = done[-1].tried.lead if done else None
    choice = [lead for lead in course.leads if lead != last] or list(course.leads)
    used = [each.tried.lead for each in done]
    fewest = min(used.count(lead) for lead in choice)
    rare = [lead for lead in choice if used.count(lead) == fewest]
    return rare[int(drawn * len(rare))]
