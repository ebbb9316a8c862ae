"""Tunes that people wrote down: read without false warnings, and as music21 reads them."""

import re
import warnings
from fractions import Fraction
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.score.abc.document import read_abc
from rhythmtrain.score.musicxml.document import Score

# Aird's collection as music21 ships it: bars and lengths are carefully written.
BOOKS = "airdsAirs"
# Of its 1180 tunes 36 have slips that are told, 65 an order of parts that is told not to be followed.
ORDERED = re.compile(rb"(?m)^P:\s*[A-Z]{2}")
# What music21 9.9 reads otherwise than the standard says: ">" beside a slur or an ornament, H and T, "`", chords.
OTHERWISE_IN_MUSIC21 = re.compile(rb'["HT`(\[{&!~]')
SAMPLE, LARGE_SAMPLE = 25, 400


@cache
def tunes() -> tuple[tuple[str, bytes], ...]:
    """Return the tunes of the collection, each by its book and number."""
    found = find_spec("music21")
    assert found is not None
    assert found.origin is not None
    books = sorted((Path(found.origin).parent / "corpus" / BOOKS).glob("*.abc"))
    texts = [(book.stem, re.split(rb"(?m)^(?=X:)", book.read_bytes())[1:]) for book in books]
    return tuple((f"{book} {at}", text) for book, all_ in texts for at, text in enumerate(all_, 1))


def read(text: bytes) -> Score | None:
    """Return a tune as a score, or None where it cannot be read."""
    try:
        return read_abc(text, name="t.abc")
    except FileError:
        return None


def lengths(score: Score) -> list[Fraction]:
    """Return how long each note is, in quarters."""
    return [note.length for bar in score.parts[0].measures for note in bar.notes]


def in_music21(text: bytes) -> list[Fraction]:
    """Return the same as music21 reads it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21  # noqa: PLC0415  (slow to import, and only needed here)

        notes = music21.converter.parse(text.decode(), format="abc").flatten().notes
        return [Fraction(note.duration.quarterLength).limit_denominator(960) for note in notes]


def alike(count: int) -> int:
    """Compare up to ``count`` tunes spread over the collection; return how many were compared."""
    plain = [
        (name, text)
        for name, text in tunes()
        if not OTHERWISE_IN_MUSIC21.search(text.partition(b"\nK:")[2])
    ]
    compared = 0
    for name, text in plain[:: max(len(plain) // count, 1)][:count]:
        score = read(text)
        if score is None or score.remarks or len(score.parts) > 1:
            continue
        assert lengths(score) == in_music21(text), name
        compared += 1
    return compared


def test_tunes_of_a_careful_collection_are_read_without_a_word() -> None:
    """Nearly all: what is left are the slips that it has."""
    read_all = [(name, read(text)) for name, text in tunes()[::3] if not ORDERED.search(text)]
    told = [name for name, score in read_all if score is None or score.remarks]
    assert len(read_all) > 300
    assert len(told) <= len(read_all) / 20, told


def test_music21_reads_a_sample_alike() -> None:
    """Another pair of eyes on whole tunes."""
    assert alike(SAMPLE) > SAMPLE / 2


@pytest.mark.long
def test_music21_reads_the_collection_alike() -> None:
    """As many as can be compared."""
    assert alike(LARGE_SAMPLE) > LARGE_SAMPLE / 3
