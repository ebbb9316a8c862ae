"""The signs there are: plain and dotted note values, and their names in two usages."""

from fractions import Fraction

# The shortest sign that is written.
SHORTEST = Fraction(1, 32)
LONGEST = Fraction(8)
MOST_DOTS = 2
DOTTED = {0: Fraction(1), 1: Fraction(3, 2), 2: Fraction(7, 4)}


def value_of(length: Fraction, *, most_dots: int = 1) -> tuple[Fraction, int] | None:
    """Return (plain value, dots) of the one sign that lasts ``length`` quarters, or None."""
    for dots in range(most_dots + 1):
        plain = length / DOTTED[dots]
        if SHORTEST <= plain <= LONGEST and _power_of_two(plain):
            return plain, dots
    return None


def longest_within(length: Fraction) -> Fraction:
    """Return the longest plain value that lasts no longer than ``length``, at least the shortest."""
    value = LONGEST
    while value > length and value > SHORTEST:
        value /= 2
    return value


def _power_of_two(value: Fraction) -> bool:
    number = value.numerator * value.denominator
    return number & (number - 1) == 0
