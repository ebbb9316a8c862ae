"""Counting systems: other ways of saying the same places, for showing and for speaking.

``numbers``
    1 e & a, 1 la li, the beat's number on the beat.  In a compound beat ``ta`` is the sixteenth
    after each eighth.
``takadimi``
    The syllable goes with the *position in the beat*; rests, ties and dots do not change it
    (Hoffman, Pelto & White 1996): ta ka di mi, ta ki da, ta va ki di da ma.
``ta-titi``
    Kodály's: by *duration*, not by position, so it needs the note's length and says nothing on
    silent and held places.  A quarter is ta, an eighth ti, sixteenths ti ri; an eighth, a quarter
    and an eighth are ti ta ti; a triplet in a simple beat is tri o la.  In a compound beat the
    note values keep their names (three eighths are ti ti ti).  A longer note is begun with ta.

``say`` gives the syllable as it is shown, ``word_key`` the name under which a voice keeps the
spoken word.  Both give None where a system has no syllable; then nothing is said.
"""

from fractions import Fraction

from rhythmtrain.errors import RequestError
from rhythmtrain.score.counts import beat_at
from rhythmtrain.score.metre import Beat, Metre

NUMBERS, TAKADIMI, TA_TITI = "numbers", "takadimi", "ta-titi"
SYSTEMS = (NUMBERS, TAKADIMI, TA_TITI)

# Share of the beat to syllable.  The first place of a beat in numbers is its number.
NUMBER_SYLLABLES_SIMPLE: dict[Fraction, str] = {
    Fraction(1, 4): "e",
    Fraction(1, 2): "&",
    Fraction(3, 4): "a",
    Fraction(1, 3): "la",
    Fraction(2, 3): "li",
}
NUMBER_SYLLABLES_COMPOUND: dict[Fraction, str] = {
    Fraction(1, 6): "ta",
    Fraction(1, 3): "la",
    Fraction(1, 2): "ta",
    Fraction(2, 3): "li",
    Fraction(5, 6): "ta",
}
# One table for simple and compound beats: a borrowed division keeps the syllables of its kind.
TAKADIMI_SYLLABLES: dict[Fraction, str] = {
    Fraction(0): "ta",
    Fraction(1, 6): "va",
    Fraction(1, 4): "ka",
    Fraction(1, 3): "ki",
    Fraction(1, 2): "di",
    Fraction(2, 3): "da",
    Fraction(3, 4): "mi",
    Fraction(5, 6): "ma",
}
TRIOLA: dict[Fraction, str] = {Fraction(0): "tri", Fraction(1, 3): "o", Fraction(2, 3): "la"}
QUARTER, EIGHTH = Fraction(1), Fraction(1, 2)


def say(metre: Metre, at: Fraction, system: str, *, length: Fraction | None = None) -> str | None:
    """Return the syllable shown ``at`` quarters into a bar of ``metre``, or None.

    ``length`` is how long the note lasts that begins there, in quarters; None where none begins.

    Raises:
        RequestError: there is no such counting system.
    """
    number = beat_at(metre, at)
    beat = metre.beats[number]
    share = (at - beat.start) / beat.length
    if system == NUMBERS:
        return str(number + 1) if not share else _number_syllable(beat, share)
    if system == TAKADIMI:
        return TAKADIMI_SYLLABLES.get(share)
    if system == TA_TITI:
        return None if length is None else _by_duration(beat, share, length)
    raise RequestError(f"there is no counting system {system!r}: choose {', '.join(SYSTEMS)}")


def word_key(
    metre: Metre, at: Fraction, system: str, *, length: Fraction | None = None
) -> str | None:
    """Return the key of the word spoken there ("2", "&", "takadimi:di", "ta-titi:ti"), or None."""
    syllable = say(metre, at, system, length=length)
    return syllable if syllable is None or system == NUMBERS else f"{system}:{syllable}"


def _number_syllable(beat: Beat, share: Fraction) -> str | None:
    if beat.compound:
        return NUMBER_SYLLABLES_COMPOUND.get(share)
    return NUMBER_SYLLABLES_SIMPLE.get(share) if beat.simple else None


def _by_duration(beat: Beat, share: Fraction, length: Fraction) -> str:
    """Return Kodály's syllable; the quarter is ta in every metre, as it is written."""
    if beat.simple and length.denominator % 3 == 0 and share in TRIOLA:
        return TRIOLA[share]
    if length >= QUARTER:
        return "ta"
    if length >= EIGHTH:
        return "ti"
    second = (share * beat.length / Fraction(1, 4)) % 2 == 1
    return "ri" if second else "ti"
