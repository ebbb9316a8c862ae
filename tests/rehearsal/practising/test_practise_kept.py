"""What a kept take tells of its runs, from the document alone."""

from typing import Any

import pytest

from rhythmtrain.rehearsal.practising.kept import kept_runs
from rhythmtrain.storage.history.take_record import Conditions, KeptTake
from tests.simulate.kept_takes import kept_take


def runs(
    document: dict[str, Any], notes: dict[int, dict[str, Any]] | None = None, **changes: Any
) -> tuple[int, int]:
    """Return the runs of a faultless take with these changes to its document and its notes."""
    record = kept_take()
    told = record.document | {"extras": []} | document
    told["notes"] = [note | (notes or {}).get(n, {}) for n, note in enumerate(told["notes"])]
    return kept_runs(KeptTake(1, kept_take(document=told, **changes)))


@pytest.mark.parametrize(
    ("document", "notes", "right"),
    [
        ({}, {}, 1),
        ({}, {5: {"verdict": "missed"}}, 0),
        ({}, {5: {"verdict": "late", "plain": True}}, 0),
        ({}, {5: {"verdict": "late", "plain": False}}, 1),
        ({"mistakes": [{"notes": [3, 999]}]}, {}, 0),
        ({"mistakes": ["not a table"], "entries": None}, {}, 1),
        ({"entries": [{"bar": 9, "count": "1", "repeat": 1, "verdict": "one beat late"}]}, {}, 0),
        ({"entries": [{"bar": 9, "count": "1", "repeat": 1, "verdict": "late"}]}, {}, 1),
        ({"extras": [{"time_s": 4.2, "bar": 3, "count": "1"}]}, {}, 0),
        ({"shift": {"beats": 1}}, {}, 0),
    ],
)
def test_a_run_is_right_when_nothing_in_it_stood_plainly_apart(
    document: dict[str, Any], notes: dict[int, dict[str, Any]], right: int
) -> None:
    """The same rule as when it was played."""
    assert runs(document, notes) == (1, right)


def test_a_clap_too_many_before_a_microphone_may_have_been_a_chair() -> None:
    """Only taps are exact."""
    extra = {"extras": [{"time_s": 4.2, "bar": 3, "count": "1"}]}
    assert runs(extra, source="audio") == (1, 1)


def test_a_take_of_another_piece_or_of_nothing_tells_nothing() -> None:
    """It is no run at all."""
    assert runs({"looks_like_the_passage": False}) == (0, 0)
    assert runs({"notes": []}) == (0, 0)
    assert kept_runs(KeptTake(1, kept_take(document={}))) == (0, 0)


def test_what_was_broken_off_or_could_not_be_checked_is_no_run() -> None:
    """Neither right nor wrong."""
    assert runs({}, conditions=Conditions(stopped=True)) == (0, 0)
    hidden = {n: {"verdict": "not checked"} for n in range(40)}
    assert runs({}, hidden) == (0, 0)


def test_the_second_time_through_is_told_from_the_first() -> None:
    """A fault in one leaves the other right; a second time that was not finished is left out."""
    first = kept_take().document["notes"]
    second = [note | {"repeat": 2, "expected_s": note["expected_s"] + 40} for note in first]
    slip = {len(first) + 2: {"verdict": "missed"}}
    assert runs({"notes": [*first, *second]}, slip, repeats=2) == (2, 1)
    assert runs({"notes": [*first, *second[:-9]]}, repeats=2) == (1, 1)
