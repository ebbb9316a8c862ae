"""How often free playing is judged rightly: three models of rubato, the first alone built on."""

import pytest

from tests.simulate.free_table import HELD_OUT, Table, fill, told

# One displaced figure in each take; measured on 40 passages, see tests/simulate/free_table.py.
RATES = {
    "dotted played even": 0.99,
    "syncopation moved to the beat": 0.99,
    "triplet as eighth and two sixteenths": 0.91,
    "even played dotted": 0.90,
    "rest one beat short": 0.86,
    "rest one beat long": 0.90,
    "even played swung": 0.66,
    "dotted played as triplet": 0.19,
}
FLAGS_PER_100 = 0.2


@pytest.fixture(scope="module")
def quick() -> Table:
    """Return the table of a few passages."""
    return fill(4, seed=90_000)


def test_honest_players_are_not_told_of_mistakes(quick: Table) -> None:
    """However freely they play: the worst fault first."""
    notes = sum(quick.notes.values())
    assert 100 * sum(quick.flags.values()) / notes <= FLAGS_PER_100
    assert 100 * sum(quick.off.values()) / notes <= 2 * FLAGS_PER_100


def test_most_mistakes_are_named(quick: Table) -> None:
    """Over all kinds that this table promises, with room for so few takes."""
    rates = {kind: quick.rate(kind) for kind in RATES}
    assert sum(count for _, count in rates.values()) >= 60
    hits = sum(share * count for share, count in rates.values())
    promised = sum(RATES[kind] * count for kind, (_, count) in rates.items())
    assert hits >= promised - 0.10 * sum(count for _, count in rates.values())


def test_notes_are_matched_through_slips(quick: Table) -> None:
    """Missing and extra notes do not lose the place."""
    for slips, least in ((0.0, (0.99, 0.99)), (0.05, (0.96, 0.96)), (0.10, (0.92, 0.93))):
        precision, recall = quick.matching(slips)
        assert precision >= least[0]
        assert recall >= least[1]


def test_the_table_says_all_of_it(quick: Table) -> None:
    """One command prints what was measured."""
    text = told(quick)
    for words in ("honest, for 100 notes", "matching, 10 % missing", "rest one beat short"):
        assert words in text


@pytest.mark.long
def test_the_whole_table_keeps_its_promises() -> None:
    """Forty passages in three models, none of them used to choose a threshold."""
    table = fill(40, seed=HELD_OUT)
    notes = sum(table.notes.values())
    assert 100 * sum(table.flags.values()) / notes <= FLAGS_PER_100
    for kind, least in RATES.items():
        assert table.rate(kind)[0] >= least, kind
    assert table.matching(0.05) >= (0.98, 0.98)
    precision, recall = table.matching(0.10)
    assert precision >= 0.95
    assert recall >= 0.96
