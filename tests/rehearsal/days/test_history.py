"""The takes that were kept: listed, shown as told then, judged again, moved elsewhere."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.keeping import keep_checked
from rhythmtrain.rehearsal.days.files import export_takes, import_takes
from rhythmtrain.rehearsal.days.history import delete_take, judge_again, list_takes, show_take
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.report.narrower import relaid
from rhythmtrain.report.take.text import check_text
from rhythmtrain.storage.history.history import open_history
from tests.rehearsal.conftest import Written
from tests.simulate.kept_takes import kept_take

NOW = datetime(2026, 3, 1, 19, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep the history of these tests in a folder of their own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def silence(sentence: str) -> None:
    """Let nothing be said."""
    raise AssertionError(sentence)


def changed(number: int, **document: Any) -> None:
    """Make the kept take say what other rules said then."""
    with open_history() as history:
        kept = history.take(number)
        assert kept is not None
        told = kept.record.document | document
        history.keep(replace(kept.record, document=told))


@pytest.fixture
def slip(rag: Path, times_s: list[float], written: Written) -> str:
    """Keep a take with a note that is plainly late and one that is missing; return its text."""
    times_s[7] += 0.18
    del times_s[3]
    wish = CheckWish(str(rag), speed=1.0, repeats=2, start=2.0)
    checked = check(written(times_s), wish)
    assert keep_checked(checked, wish, now=NOW, say=silence) == 1
    text = check_text(checked.heard, checked.said, take="take 1, 1 Mar 2026")
    return relaid(text, as_typed)


def test_a_take_is_shown_again_as_it_was_told(slip: str, rag: Path) -> None:
    """Word for word, but for what to type next, and also when the drill is gone."""
    rag.unlink()
    shown = show_take(1).worded(as_typed)
    before, _, _ = slip.rpartition("\n\nTo type next:")
    assert shown.text.startswith(before)
    assert "not heard" in before
    assert shown.document["check"]["tally"]["missed"] == 1


def test_takes_are_listed_the_newest_first_with_how_they_went(slip: str) -> None:
    """One row a take: the day, the passage, the tempo, and what was amiss."""
    with open_history() as history:
        history.keep(kept_take(3, played_at=NOW + timedelta(days=1)))
    told = list_takes()
    rows = told.text.splitlines()
    assert "2 Mar 2026" in rows[1]
    assert rows[1].endswith("nothing stood out")
    assert "1 of 34 not heard" in rows[2]
    assert [take["id"] for take in told.document["takes"]] == [2, 1]
    assert slip


def test_only_what_was_asked_for_is_listed() -> None:
    """By passage, by day, and so many."""
    with open_history() as history:
        for number in range(4):
            name = f"rag {number % 2}"
            history.keep(kept_take(number, passage=name, apart=timedelta(days=1)))
    assert len(list_takes("rag 1").document["takes"]) == 2
    assert len(list_takes(since="2026-03-03").document["takes"]) == 2
    told = list_takes(limit=3)
    assert len(told.document["takes"]) == 3
    assert "--limit" in told.text
    assert "--limit" not in list_takes(limit=4).text
    assert "no such take" in list_takes("off-beats").text
    assert "no such take" in list_takes(since="2026-04-01").text


def test_without_takes_it_says_how_to_begin() -> None:
    """Nobody stands before an empty table."""
    assert "rhythmtrain clap" in list_takes().text


@pytest.mark.parametrize(
    ("wish", "words"),
    [({"limit": 0}, "1 or more"), ({"since": "yesterday"}, "such as 2026-03-01")],
)
def test_a_wish_that_means_nothing_is_refused(wish: dict[str, Any], words: str) -> None:
    """With what is allowed."""
    with pytest.raises(RequestError, match=words):
        list_takes(**wish)


def test_a_take_judged_by_the_same_rules_has_not_changed(slip: str) -> None:
    """Judging again invents nothing."""
    assert judge_again(1).document == {"take": 1, "changed": []}
    assert slip


def test_what_todays_rules_tell_otherwise_is_named_and_kept(slip: str) -> None:
    """A verdict, the habit, a figure: each with its bar."""
    with open_history() as history:
        kept = history.take(1)
    assert kept is not None
    notes = [dict(note) for note in kept.record.document["notes"]]
    assert notes[0]["verdict"] == "in time"
    notes[0] |= {"verdict": "late", "plain": True}
    figure = {
        "bar": 1,
        "count": "1",
        "what": "dotted played even",
        "notes": [0],
        "times": 1,
        "of": 1,
    }
    changed(1, notes=notes, mistakes=[figure], offset_ms={"median": 30.0})
    lines = judge_again(1).document["changed"]
    assert "bar 1, 1: late before, in time now" in lines
    assert any("habit" in line for line in lines)
    assert "no longer told of bar 1: dotted played even" in lines
    assert judge_again(1).document["changed"] == []
    assert slip


def test_every_take_is_judged_again_and_those_that_cannot_be_are_named(slip: str) -> None:
    """One without its passage does not stop the others."""
    with open_history() as history:
        history.keep(kept_take(5, drill=""))
    told = judge_again(None, every=True)
    assert [row["take"] for row in told.document["takes"]] == [1]
    assert "take 2 stays as it was" in told.document["refused"][0]
    assert "One take judged" in told.text
    assert slip


@pytest.mark.parametrize(("number", "every"), [(None, False), (1, True)])
def test_judging_again_must_be_told_which(number: int | None, every: bool) -> None:  # noqa: FBT001
    """One or all, not neither or both."""
    with pytest.raises(RequestError, match="which-take"):
        judge_again(number, every=every)


def test_a_take_that_is_not_there_is_named() -> None:
    """Shown, judged or deleted: the same sentence."""
    for ask in (show_take, judge_again, delete_take):
        with pytest.raises(RequestError, match="no take 7"):
            ask(7)


def test_a_deleted_take_is_gone(slip: str) -> None:
    """For good."""
    delete_take(1)
    with pytest.raises(RequestError, match="no take 1"):
        show_take(1)
    assert slip


def test_a_history_travels_in_a_file(
    slip: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Written out here, taken in there, nothing twice."""
    told = export_takes(tmp_path / "takes.jsonl")
    assert told.document["takes"] == 1
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "elsewhere"))
    assert import_takes(tmp_path / "takes.jsonl").document["kept"] == 1
    assert import_takes(tmp_path / "takes.jsonl").document["already"] == 1
    before, _, _ = slip.rpartition("\n\nTo type next:")
    assert show_take(1).worded(as_typed).text.startswith(before)


def test_a_file_without_a_take_is_refused_line_by_line(tmp_path: Path) -> None:
    """Also one that is no text at all."""
    path = tmp_path / "takes.jsonl"
    path.write_bytes(b'{"a": 1}\n\xff\xfe\n')
    told = import_takes(path)
    assert "holds no takes" in told.failure
    assert [line.split(":")[0] for line in told.document["refused"]] == [
        "line 1 was not kept",
        "line 2 was not kept",
    ]


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    """And no folder is made for what cannot be written."""
    with pytest.raises(FileError, match="there is no file"):
        import_takes(tmp_path / "takes.jsonl")
    with pytest.raises(FileError, match="does not exist"):
        export_takes(tmp_path / "nowhere" / "takes.jsonl")


@pytest.mark.parametrize(
    "document",
    [{}, {"notes": 3}, {"advice": ["Keep on."], "tries": [], "try": "x"}],
    ids=["nothing", "a number for notes", "half a document"],
)
def test_a_document_of_another_shape_is_shown_as_far_as_it_goes(document: dict[str, Any]) -> None:
    """A take from elsewhere gives a sentence, never a traceback."""
    with open_history() as history:
        history.keep(kept_take(1, document=document))
    told = show_take(1)
    assert told.warnings
    assert "Kitchen Rag" in told.text
    assert ("Keep on." in told.text) == ("advice" in document)


@pytest.mark.parametrize("place", [{"bar": 99, "count": "1"}, {"bar": 9, "count": "zz"}])
def test_places_that_the_passage_lacks_are_no_traceback(slip: str, place: dict[str, Any]) -> None:
    """An entry from nowhere."""
    entry = place | {"rest_bars": 1, "rest_beats": 2.0, "offset_ms": None}
    changed(1, entries=[entry | {"offset_beats": None, "verdict": "missed"}])
    assert show_take(1).warnings
    assert json.dumps(show_take(1).document)
    assert slip
