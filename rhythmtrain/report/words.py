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


def bars_in_words(bars: Iterable[int]) -> str:
    """Return bars as one says them: "bar 6", "bars 1 to 4 and 7"."""
    found = sorted(set(bars))
    runs: list[list[int]] = [[bar] for bar in found[:1]]
    for before, bar in pairwise(found):
        if bar == before + 1:
            runs[-1].append(bar)
        else:
            runs.append([bar])
    parts = []
    for run in runs:
        if len(run) > 2:  # noqa: PLR2004  (two bars are named, more are a row)
            parts.append(f"{run[0]} to {run[-1]}")
        else:
            parts.extend(map(str, run))
    return f"bar{'' if len(found) == 1 else 's'} {listed(parts)}"


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


def milliseconds(seconds: float) -> str:
    """Return a time as people read it: "80 ms", and seconds from one second on."""
    if abs(seconds) >= 1:
        return f"{abs(seconds):.1f} s"
    return f"{abs(seconds) * 1000:.0f} ms"


def sentence(words: str) -> str:
    """Return the words with a capital letter and a full stop."""
    words = words.strip()
    ended = words if words.endswith((".", "?", "!")) else f"{words}."
    return ended[:1].upper() + ended[1:]
