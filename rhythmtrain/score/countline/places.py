"""From the counts of one written bar to its places, in the metre in force.

A number is a beat of the metre; a syllable belongs to the last beat named in this bar, and ``ta``
to the last eighth named in it.  Places go forward.  Where each syllable lies is in the table of
``counts``.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.bars import Count
from rhythmtrain.score.countline.marks import LONGEST_NUMBER
from rhythmtrain.score.countline.words import FRACTION, NUMBER, Word
from rhythmtrain.score.counts import beat_at, count_name, missing_beat, syllable_share
from rhythmtrain.score.metre import Beat, Metre
from rhythmtrain.score.passage import Kind, Place

LARGEST_DENOMINATOR = 9_999
RESTS_AFTER_NOTES = "prints a rest; for a held note write"


def places_of(counts: tuple[Count, ...], metre: Metre) -> tuple[Place, ...]:
    """Return the places of a bar of ``metre`` that holds ``counts``.

    Raises:
        DrillError: a count that the metre lacks, out of order or written twice, or a bar that
            begins with a syllable.
    """
    places: list[Place] = []
    for count, at in zip(counts, _spots(counts, metre), strict=True):
        if places and at <= places[-1].at:
            raise count.word.error(_backwards(metre, at, places[-1].at))
        places.append(Place(at, count.kind, count.accent))
    return tuple(places)


def held_or_silent(
    counts: tuple[Count, ...], places: tuple[Place, ...], metre: Metre
) -> Iterator[tuple[Word, str]]:
    """Yield a gentle hint for each silent place inside a beat right after a note in that beat."""
    pairs = pairwise(zip(counts, places, strict=True))
    for (_, before), (count, place) in pairs:
        beat = metre.beats[beat_at(metre, place.at)]
        inside = beat.start <= before.at < place.at
        if before.kind is Kind.PLAYED and place.kind is Kind.SILENT and inside:
            said = count.word.text
            yield count.word, f"({said}) {RESTS_AFTER_NOTES} [{said}]"


def _spots(counts: tuple[Count, ...], metre: Metre) -> Iterator[Fraction]:
    """Yield how many quarters into the bar each count lies."""
    beat: Beat | None = None
    eighth = Fraction(0)
    for count in counts:
        word = count.word
        if word.kind == NUMBER:
            beat, share = _beat(metre, word, word.text), Fraction(0)
        elif word.kind == FRACTION:
            number, _, inside = word.text.partition("+")
            beat, share = _beat(metre, word, number), _share(word, inside)
        elif beat is None:
            raise word.error(
                f"the bar begins with {word.text!r}: say which beat, "
                f"like (1) {word.text} or [1] {word.text}"
            )
        else:
            share = _syllable(word, beat, eighth)
        eighth = share if share in _EIGHTHS else Fraction(0) if word.kind == FRACTION else eighth
        yield beat.start + share * beat.length


_EIGHTHS = (Fraction(0), Fraction(1, 3), Fraction(2, 3))


def _beat(metre: Metre, word: Word, text: str) -> Beat:
    if not text.isdecimal():
        raise word.error(f"{text[:20]} is no count: a beat is a whole number")
    number = int(text) if len(text) <= LONGEST_NUMBER else 0
    if not 1 <= number <= len(metre.beats):
        shown = missing_beat(metre, number) if number or len(text) <= LONGEST_NUMBER else None
        raise word.error(shown or f"{metre} has no beat of so many digits")
    return metre.beats[number - 1]


def _share(word: Word, text: str) -> Fraction:
    upper, _, lower = text.partition("/")
    most = len(str(LARGEST_DENOMINATOR))
    if len(upper) > most or len(lower) > most or not 0 < int(upper) < int(lower):
        raise word.error(
            f"{word.text[:20]}: the fraction must lie inside the beat, like 2+1/5, "
            f"with numbers up to {LARGEST_DENOMINATOR}"
        )
    return Fraction(int(upper), int(lower))


def _syllable(word: Word, beat: Beat, eighth: Fraction) -> Fraction:
    try:
        return syllable_share(beat, word.text, eighth=eighth)
    except DrillError as error:
        raise word.error(error.message) from None


def _backwards(metre: Metre, at: Fraction, last: Fraction) -> str:
    name = count_name(metre, at)
    if at == last:
        return f"{name} stands twice in one bar: leave one, or put a | between two bars"
    return (
        f"{name} comes after {count_name(metre, last)}, but counts in a bar go forward: "
        "put them in order, or a | between two bars"
    )
