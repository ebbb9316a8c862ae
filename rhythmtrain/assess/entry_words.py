"""The class of an entry in words: "one beat early", "half a beat late", "two bars early".

A verdict on an entry is its class alone, in the words that a teacher would use; they are values that
findings, histories and documents keep, so there is one place that makes them.
"""

EXACT = 1e-6
HALF_BEAT, NEAR_HALF = 0.5, 0.175
# Of a beat: classes are halves, so more than this is half a beat more.
MORE = 0.25

NUMBERS = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


def class_words(beats: float, beats_a_bar: float) -> str:
    """Return the class in words: "one beat early", "half a beat late", "two bars early"."""
    side = "late" if beats > 0 else "early"
    size = abs(beats)
    if abs(size - HALF_BEAT) < NEAR_HALF:
        return f"half a beat {side}"
    bars = size / beats_a_bar
    if bars >= 1 and abs(bars - round(bars)) < EXACT:
        return f"{_numbered(round(bars), 'bar')} {side}"
    whole = int(size)
    if size - whole > MORE:
        return f"{_number(whole)} and a half beats {side}"
    return f"{_numbered(whole, 'beat')} {side}"


def _numbered(count: int, thing: str) -> str:
    return f"{_number(count)} {thing}{'s' * (count != 1)}"


def _number(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else str(count)
