"""Plain words for bars, counts, numbers and times, shared by everything that speaks to a player."""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.score.counts import place_of, spoken_count
from rhythmtrain.score.passage import Passage, numbered

NUMBERS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip
TIMES = ("never", "once", "twice")
ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth",
    "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
)  # fmt: skip
# Parts of a beat that a rest may have beside whole ones, as one says them.
PARTS = {
    Fraction(1, 3): "a third", Fraction(2, 3): "two thirds",
    Fraction(1, 4): "a quarter", Fraction(3, 4): "three quarters",
}  # fmt: skip
BOTH = 2
FEW_RUNS = 6
UPBEAT = 0


def number(value: int) -> str:
    """Return a whole number in words up to twelve, in digits beyond."""
    return NUMBERS[value] if 0 <= value < len(NUMBERS) else str(value)


def times(value: int) -> str:
    """Return how often: "once", "twice", "three times"."""
    return TIMES[value] if 0 <= value < len(TIMES) else f"{number(value)} times"


def several(value: int, thing: str) -> str:
    """Return the number with its noun: "one bar", "three bars"."""
    return f"{number(value)} {thing}{'' if value == 1 else 's'}"


def listed(words: Sequence[str]) -> str:
    """Return the words as a sentence lists them: "1, 2 and 5"."""
    if len(words) <= 1:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def how_often(which: Sequence[int], of: int) -> str:
    """Return which times out of ``of``: "", "both times", "the second time", "twice in four".

    ``which`` are numbers from 1; where a thing can happen only once, nothing is to be said.
    """
    if of <= 1:
        return ""
    if len(which) == of:
        return "both times" if of == BOTH else f"all {times(of)}"
    if len(which) == 1 and which[0] <= len(ORDINALS):
        return f"the {ORDINALS[which[0] - 1]} time"
    return f"{times(len(which))} in {number(of)}"


def bar_in_words(bar: int) -> str:
    """Return a bar as one says it: "bar 6", "the upbeat"."""
    return "the upbeat" if bar == UPBEAT else f"bar {bar}"


def bars_in_words(bars: Iterable[int]) -> str:
    """Return bars as one says them: "bar 6", "bars 1 to 4 and 7", "the upbeat and bar 2"."""
    found = sorted(set(bars))
    upbeat = [bar_in_words(UPBEAT)] if UPBEAT in found else []
    whole = [bar for bar in found if bar != UPBEAT]
    parts = []
    for run in runs(whole):
        if len(run) > 2:  # noqa: PLR2004  (two bars are named, more are a row)
            parts.append(f"{run[0]} to {run[-1]}")
        else:
            parts.extend(map(str, run))
    named = [f"bar{'' if len(whole) == 1 else 's'} {listed(parts)}"] if whole else []
    return listed([*upbeat, *named])


def few_bars_in_words(bars: Iterable[int]) -> str:
    """Return bars as one says them, or how many they are where a list would be long."""
    found = sorted(set(bars))
    return bars_in_words(found) if len(runs(found)) <= FEW_RUNS else several(len(found), "bar")


def runs(bars: Sequence[int]) -> list[list[int]]:
    """Return ``bars``, in order, cut into rows that follow each other without a gap."""
    rows: list[list[int]] = [[bar] for bar in bars[:1]]
    for before, bar in pairwise(bars):
        if bar == before + 1:
            rows[-1].append(bar)
        else:
            rows.append([bar])
    return rows


def count_in_words(passage: Passage, bar: int, count: str) -> str:
    """Return a count of a bar as a sentence says it: "beat 2", "the and of 2"."""
    metre = passage.bars[numbered(passage, bar)].metre
    spoken = spoken_count(metre, place_of(metre, count))
    return f"beat {spoken}" if spoken.isdigit() else spoken


def beats_in_words(beats: float) -> str:
    """Return a number of beats: "half a beat", "one beat", "two and a half beats", "1.4 beats"."""
    exact = Fraction(beats).limit_denominator(1000)
    whole, rest = divmod(exact, 1)
    if not rest:
        return several(int(whole), "beat")
    if rest == Fraction(1, 2):
        return "half a beat" if not whole else f"{number(int(whole))} and a half beats"
    return f"{beats:.1f} beats"


def rest_in_words(beats: float) -> str:
    """Return the length of a rest: as ``beats_in_words``, and "one and two thirds beats"."""
    whole, part = divmod(Fraction(beats).limit_denominator(1000), 1)
    name = PARTS.get(part)
    if name is None:
        return beats_in_words(beats)
    return f"{number(int(whole))} and {name} beats" if whole else f"{name} of a beat"


def milliseconds(seconds: float) -> str:
    """Return a time as people read it: "80 ms", and seconds from one second on."""
    if abs(seconds) >= 0.9995:  # noqa: PLR2004  (what rounds to a thousand is a second)
        return f"{abs(seconds):.1f} s"
    return f"{abs(seconds) * 1000:.0f} ms"


def sentence(words: str) -> str:
    """Return the words with a capital letter and a full stop."""
    words = words.strip()
    ended = words if words.endswith((".", "?", "!")) else f"{words}."
    return ended[:1].upper() + ended[1:]
