"""The numbers a coach goes by, each with what stands behind it: research, or custom.

Little of what teachers do has been tested.  What has been is cited; everything else is *custom*,
and every number can be set by whoever knows better.

The share of right runs decides, never minutes: of what pianists did in practice the share of
correct complete runs went with how well they played a day later, the time they spent did not
(Duke, Simmons and Cash 2009; correlational).  Nights count, gaps of minutes do not (Simmons 2012;
Wiseheart, D'Souza and Chae 2017).  Of a gradual rise, of slow and full tempo in turn, and of a mix
none has been shown to be best.
"""

import math
from dataclasses import dataclass, fields
from difflib import get_close_matches
from enum import StrEnum
from typing import Any

from rhythmtrain.errors import RequestError

CUSTOM = "custom"
DUKE = "supported by Duke, Simmons and Cash 2009 (correlational)"
NIGHTS = "supported by Simmons 2012 (a night between), its length custom"


class Order(StrEnum):
    """In which order the tempi come: none of them has been shown to be best."""

    GRADUAL = "gradual"
    ALTERNATING = "alternating"
    MIX = "mix"


@dataclass(frozen=True, slots=True)
class Settings:
    """All the numbers.

    ``order`` is that of the tempi.  ``slow`` is the share of the written tempo at which all is
    learnt, ``rungs`` how many tempi lie on the way up.  A tempo is passed when the share of right
    runs is at least ``share`` with a probability of ``sure``; it stands until that falls below
    ``keep``; only the last ``window`` runs count.  ``half_nights`` is after how many nights a run counts half.  What failed is done
    ``slower`` times as fast, no more than ``detours`` times.  ``runs`` is how often one plays at a
    time, ``take_s`` how long that may last in seconds.  After ``lower`` vain attempts at a
    step all becomes slower, and after as many again it is left for the day; so is a tempo after
    ``patience`` of them.  ``most`` is how many steps a session has at most, ``tries`` how
    many tries an entry gets in it, ``rest_minutes`` when one is reminded to rest.  ``passages`` is
    how many passages a day has; what is at its tempo rests ``first_rest`` nights, then twice as
    long, at most ``longest_rest``.  A bar is weak where fewer than ``notes`` of its notes are there,
    and uneven from ``uneven`` times the spread of a steady player on.
    """

    order: Order = Order.GRADUAL
    slow: float = 0.6
    rungs: int = 6
    share: float = 0.7
    sure: float = 0.65
    window: int = 6
    keep: float = 0.4
    half_nights: float = 7.0
    slower: float = 0.8
    detours: int = 2
    runs: int = 2
    take_s: float = 60.0
    patience: int = 3
    lower: int = 2
    most: int = 60
    tries: int = 6
    rest_minutes: float = 10.0
    passages: int = 3
    first_rest: int = 2
    longest_rest: int = 14
    notes: float = 0.9
    uneven: float = 1.5

    def __post_init__(self) -> None:
        """Refuse what nobody can practise by."""
        for name, (least, most) in LIMITS.items():
            value = getattr(self, name)
            if not (math.isfinite(value) and least <= value <= most):
                raise RequestError(
                    f"the practice setting {name} must be {least:g} to {most:g}, got {value:g}"
                )


LIMITS: dict[str, tuple[float, float]] = {
    "slow": (0.1, 1.0),
    "rungs": (1, 20),
    "share": (0.05, 0.99),
    "sure": (0.05, 0.99),
    "window": (1, 1000),
    "keep": (0.0, 0.99),
    "half_nights": (0.5, 3650),
    "slower": (0.3, 0.95),
    "detours": (0, 10),
    "runs": (1, 20),
    "take_s": (5, 600),
    "patience": (1, 20),
    "lower": (1, 20),
    "most": (1, 500),
    "tries": (1, 100),
    "rest_minutes": (1, 240),
    "passages": (1, 50),
    "first_rest": (1, 365),
    "longest_rest": (1, 3650),
    "notes": (0.05, 0.99),
    "uneven": (1.0, 10.0),
}
GROUNDS: dict[str, str] = {
    "order": "custom: Henley 2001 found full tempo alone least exact, and no rise best",
    "slow": "custom: nearly all musicians do it (Allingham and Woellner 2022), no effect shown",
    "rungs": CUSTOM,
    "share": f"{DUKE}, its number custom",
    "sure": CUSTOM,
    "window": CUSTOM,
    "keep": CUSTOM,
    "half_nights": NIGHTS,
    "slower": f"{DUKE}: the best slowed down after a mistake; how much is custom",
    "detours": CUSTOM,
    "runs": "supported by Schmidt et al. 1989 (told after several, not after each), number custom",
    "take_s": CUSTOM,
    "patience": CUSTOM,
    "lower": CUSTOM,
    "most": CUSTOM,
    "tries": CUSTOM,
    "rest_minutes": "custom: no break has been measured; rest earlier when anything hurts",
    "passages": CUSTOM,
    "first_rest": NIGHTS,
    "longest_rest": CUSTOM,
    "notes": CUSTOM,
    "uneven": "custom, over the spread measured by Baath and Madison 2012",
}
MEANINGS: dict[str, str] = {
    "order": "in which order the tempi come: gradual, alternating slow and full, or a mix",
    "slow": "share of the written tempo at which all is learnt",
    "rungs": "tempi on the way from slow to written",
    "share": "share of right runs with which a tempo is passed",
    "sure": "how probable that share must be",
    "window": "only the last so many runs count for that",
    "keep": "below which probability it is asked for again",
    "half_nights": "nights after which a run counts half",
    "slower": "by how much slower bars that failed are done alone",
    "detours": "how often they are made slower",
    "runs": "times through in one take",
    "take_s": "seconds that a take may last",
    "patience": "vain attempts at a tempo before it is left for the day",
    "lower": "vain attempts at a step before all becomes slower",
    "most": "steps in a session at most",
    "tries": "tries at an entry in one go",
    "rest_minutes": "minutes after which you are reminded to rest",
    "passages": "passages on a day",
    "first_rest": "nights that a passage rests once it stands at its tempo, twice as long each time",
    "longest_rest": "the most nights of rest",
    "notes": "share of its notes below which a bar is practised alone",
    "uneven": "times the spread of a steady player from which a bar is uneven",
}
WHOLE = frozenset(each.name for each in fields(Settings) if each.type is int)
USUAL = Settings()


def settings_of(table: dict[str, object]) -> Settings:
    """Return the settings in ``table``, usual where it says nothing.

    Raises:
        RequestError: a name there is none of, or a value out of range.
    """
    known = [each.name for each in fields(Settings)]
    for name in table:
        if name not in known:
            near = get_close_matches(name, known, 1)
            hint = f"did you mean {near[0]}?" if near else f"there are {', '.join(known)}"
            raise RequestError(f"there is no practice setting {name!r}: {hint}")
    values: dict[str, Any] = {name: _value(name, value) for name, value in table.items()}
    return Settings(**values)


def _value(name: str, value: object) -> Order | float:
    if name == "order":
        if value not in list(Order):
            raise RequestError(f"order must be {', '.join(Order)}, got {value!r}")
        return Order(str(value))
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RequestError(f"the practice setting {name} must be a number, got {value!r}")
    if name in WHOLE and value != int(value):
        raise RequestError(f"the practice setting {name} must be a whole number, got {value:g}")
    return int(value) if name in WHOLE else float(value)
