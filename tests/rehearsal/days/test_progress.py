"""How it goes over the days, from the history to words, picture and page."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.days.progress import ProgressWish, tell_progress
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.storage.history.history import open_history
from tests.simulate.kept_takes import FIRST, heard_entry, kept_take

NOW = FIRST + timedelta(days=10)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep the history of these tests in a folder of their own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def practised(many: int = 8, **changes: Any) -> None:
    """Keep one take a day."""
    with open_history() as history:
        for number in range(many):
            history.keep(kept_take(number, apart=timedelta(days=1), **changes))


def told(passage: str | None = "kitchen-rag", **wish: Any) -> dict[str, Any]:
    """Return the document of progress."""
    return tell_progress(ProgressWish(passage, **wish), now=NOW).document


def test_every_bar_entry_and_tempo_stands_by_day() -> None:
    """As it was kept."""
    practised(3)
    (rag,) = told("kitchen-rag")["passages"]
    assert (rag["title"], rag["tempo"], rag["takes"]) == ("Kitchen Rag", 72.0, 3)
    assert rag["days"] == ["2026-03-01", "2026-03-02", "2026-03-03"]
    assert [each["tempo"] for each in rag["tempi"]] == [36, 36, 36]
    assert len(rag["bars"]) == 16
    assert len(rag["bars"][0]["days"]) == 3
    assert rag["entries"][0]["days"][0]["in_time"] == 1


def test_what_went_right_for_days_goes_on_to_the_next_tempo() -> None:
    """With the reason in a sentence, and what to type."""
    practised(8)
    answer = tell_progress(ProgressWish("kitchen-rag"), now=NOW)
    (first, *_) = answer.document["today"]
    assert first["tempo"] > 36
    assert first["reason"].endswith(".")
    assert "rhythmtrain" in answer.text


def test_the_players_own_numbers_are_gone_by(home: Path) -> None:
    """Whoever wants one passage a day gets one."""
    practised(1)
    practised(1, passage="other-rag")
    assert len({item["passage"] for item in told(None)["today"]}) == 2
    (home / "settings.json").write_text('{"practice": {"passages": 1}}', encoding="utf-8")
    assert len({item["passage"] for item in told(None)["today"]}) == 1


def test_a_night_lies_between() -> None:
    """What was practised today is not asked for again today, nor minutes later."""
    practised(8)
    same_day = FIRST + timedelta(days=7, hours=2)
    answer = tell_progress(ProgressWish(), now=same_day).document
    assert answer["today"] == []
    assert answer["later"][0]["due"] == "2026-03-09"
    next_day = tell_progress(ProgressWish(), now=same_day + timedelta(days=1)).document
    assert next_day["today"]


def test_tries_at_an_entry_are_no_runs_of_the_passage() -> None:
    """Coming in eight times right does not make the passage sure."""
    practised(4, help="rests counted aloud")
    (rag,) = told()["passages"]
    assert rag["tempi"] == []
    assert rag["reached"] is None
    # Nor does it say that the passage went wrong, which was never played.
    assert told(None)["today"][0]["why"] == "new"
    assert [day["alone"] for day in rag["entries"][0]["days"]] == [False] * 4


def test_an_entry_without_help_is_told_apart() -> None:
    """Only what helped nobody counts as alone."""
    practised(2, help="no help")
    (rag,) = told()["passages"]
    assert [day["alone"] for day in rag["entries"][0]["days"]] == [True] * 2


def test_clean_bars_alone_do_not_make_the_passage_sure() -> None:
    """But who always practises these bars practises them as a passage."""
    practised(4, bars="17-24")
    assert len(told()["passages"][0]["tempi"]) == 4
    practised(1, passage="kitchen-rag", speed=0.7)
    (rag,) = told()["passages"]
    assert [each["tempo"] for each in rag["tempi"]] == [50]


def test_a_drill_that_is_gone_still_has_its_progress() -> None:
    """It is found under the name its takes were kept by."""
    practised(2, passage="/nowhere/gone.toml")
    assert told("/nowhere/gone.toml")["passages"][0]["takes"] == 2


def test_a_passage_of_which_nothing_was_kept_is_named() -> None:
    """With what there is."""
    practised(1)
    with pytest.raises(RequestError, match=r"nothing of off-beats.*Kitchen Rag"):
        told("off-beats")


def test_without_any_take_it_says_how_to_begin() -> None:
    """For all passages and for one; no file breaks on it."""
    for passage in (None, "off-beats"):
        answer = tell_progress(ProgressWish(passage), now=NOW).worded(as_typed)
        assert "rhythmtrain clap" in answer.text
        assert answer.document == {"today": [], "later": [], "passages": []}


def test_over_all_passages_the_bars_are_not_told_one_by_one() -> None:
    """What is weak is, and what to do; old days that no longer count are not even read."""
    practised(2)
    (rag,) = told(None)["passages"]
    assert "bars" not in rag
    assert (rag["weak_bars"], rag["last_day"]) == ([], "2026-03-02")
    late = FIRST + timedelta(days=400)
    answer = tell_progress(ProgressWish(), now=late)
    assert "Kitchen Rag" in answer.text
    assert answer.document["today"]


def test_takes_without_a_tempo_are_left_out() -> None:
    """An imported take that says little."""
    practised(2, document={})
    assert told(None)["passages"] == []


def test_the_picture_and_the_page_are_written(tmp_path: Path) -> None:
    """Where they were asked for, and that is said."""
    practised(3)
    plot, page = tmp_path / "rag.svg", tmp_path / "rag.html"
    answer = tell_progress(ProgressWish("kitchen-rag", plot=plot, report=page), now=NOW)
    assert answer.files == (plot, page)
    assert plot.read_text(encoding="utf-8").rstrip().endswith("</svg>")
    assert "Kitchen Rag" in page.read_text(encoding="utf-8")
    assert str(page) in answer.text


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"plot": Path("x.png")}, "which passage"),
        ({"passage": "kitchen-rag", "plot": Path("x.gif")}, ".png or .svg"),
        ({"report": Path("x.txt")}, "page.html"),
    ],
)
def test_a_file_that_cannot_be_meant_is_refused(wish: dict[str, Any], words: str) -> None:
    """Before anything is done."""
    practised(1)
    with pytest.raises(RequestError, match=words):
        tell_progress(ProgressWish(**wish), now=NOW)


def test_nothing_is_drawn_of_nothing(tmp_path: Path) -> None:
    """No empty picture is left behind."""
    answer = tell_progress(ProgressWish("off-beats", plot=tmp_path / "x.png"), now=NOW)
    assert "nothing to draw" in answer.failure
    assert not (tmp_path / "x.png").exists()


def test_today_is_the_day_on_the_players_clock() -> None:
    """Half past eleven in the evening is not yet tomorrow."""
    practised(1, played_at=datetime(2026, 3, 1, 22, 0, tzinfo=UTC))
    answer = tell_progress(ProgressWish(), now=datetime(2026, 3, 1, 23, 59, tzinfo=UTC)).document
    assert answer["today"] == []


def test_an_entry_missed_is_told_as_such() -> None:
    """Not as an offset of nothing."""
    document = kept_take(1).document | {"entries": [heard_entry(None, "missed")]}
    practised(1, document=document, help="no help")
    assert "last not heard" in tell_progress(ProgressWish("kitchen-rag"), now=NOW).text
