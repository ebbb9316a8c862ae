"""The history keeps every take with its onsets, and tells of them by day."""

import math
import sqlite3
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.capture.take import Heard
from rhythmtrain.errors import FileError, TakeError
from rhythmtrain.storage.history.history import FILE_NAME, KeptTake, open_history
from rhythmtrain.storage.history.rows import parts_of, record_of, rhythm_row, take_row
from rhythmtrain.storage.history.take_record import Conditions, TakeRecord
from rhythmtrain.timing.playing_order import Practice
from tests.simulate.kept_takes import FIRST, heard_entry, kept_take

EVENING = timezone(timedelta(hours=1))


def changed(number: int, **document: Any) -> TakeRecord:
    """Return a take whose document says something else."""
    return kept_take(number, document=kept_take(number).document | document)


def test_a_take_comes_back_as_it_was_kept(tmp_path: Path) -> None:
    """Onsets to the last digit, so that it can be judged again; the folder is made."""
    record = kept_take(
        onsets=(Heard(0.1 + 0.2, 7.3, 0.001, 0.25), Heard(1 / 3)),
        bars="17-18",
        help="no help",
        played_at=datetime(2026, 3, 1, 23, 59, 59, 123456, EVENING),
        conditions=Conditions(Practice(0.5, 2, 1, 2, 3), 1.5, False, False, True, 7, (17, 18)),
    )
    folder = tmp_path / "new" / "folder"
    with open_history(folder) as history:
        number = history.keep(record)
    with open_history(folder) as history:
        assert history.take(number) == KeptTake(number, record)
        assert history.take(number + 1) is None


def test_takes_come_newest_first_and_as_asked(tmp_path: Path) -> None:
    """A list of one passage, since a day, the last few."""
    with open_history(tmp_path) as history:
        numbers = [history.keep(kept_take(each, passage="ab"[each % 2])) for each in range(6)]
        ids = [take.id for take in history.takes()]
        assert ids == numbers[::-1]
        assert [take.id for take in history.takes("b")] == [6, 4, 2]
        since = FIRST + timedelta(hours=3)
        assert [take.id for take in history.takes("a", since)] == [5]
        assert [take.id for take in history.takes(limit=2)] == [6, 5]
        assert [each.id for each in history.summaries("b", since, 1)] == [6]


def test_the_same_take_kept_again_gets_the_newer_judgement(tmp_path: Path) -> None:
    """Checking a recording twice is not practising twice."""
    with open_history(tmp_path) as history:
        number = history.keep(kept_take())
        again = history.keep(changed(0, bars=[], entries=[heard_entry(None, "missed")]))
        assert again == number
        assert [each.id for each in history.takes()] == [number]
        assert history.bar_days("kitchen-rag") == ()
        assert history.entry_days("kitchen-rag")[0].last_verdict == "missed"


def test_a_deleted_take_is_gone_and_its_number_is_not_given_again(tmp_path: Path) -> None:
    """The number of a take never means another; progress no longer counts it."""
    with open_history(tmp_path) as history:
        first, second = history.keep(kept_take(0)), history.keep(kept_take(1))
        assert history.delete(second)
        assert not history.delete(second)
        assert history.take(second) is None
        assert {day.takes for day in history.bar_days("kitchen-rag")} == {1}
        assert history.keep(kept_take(2)) == second + 1
        assert history.delete(first)
        assert history.delete(second + 1)
        assert history.passages() == ()
        assert history.bar_days("kitchen-rag") == ()
        assert history.entry_days("kitchen-rag") == ()


def test_a_summary_says_how_a_take_went(tmp_path: Path) -> None:
    """What a list and a ladder need, without reading every onset."""
    record = changed(
        0,
        looks_like_the_passage=None,
        tries=[{"complete": False}, {"complete": True}],
        tally={"expected": 9, "matched": 5, "missed": 3, "extra": 2, "not_checked": 1},
        notes=[{"plain": True}, {"plain": False}, {"plain": True}],
        mistakes=[{}],
        offset_ms={"median": -12.5, "sd": None},
    )
    record.document["try"] = 1
    with open_history(tmp_path) as history:
        history.keep(record)
        summary = history.summaries()[0]
    assert summary.looks_like is None
    assert summary.complete is True
    assert (summary.expected, summary.matched, summary.missed) == (9, 5, 3)
    assert (summary.extra, summary.not_checked) == (2, 1)
    assert (summary.plain, summary.mistakes) == (2, 1)
    assert (summary.habit_s, summary.spread_s) == (-0.0125, None)
    assert (summary.tempo, summary.day) == (36.0, "2026-03-01")


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"tally": 3, "bars": 3, "notes": [3], "tries": {}, "try": 0, "offset_ms": []},
        {"bars": [{}, {"bar": 10**30, "sd_ms": 10**400}], "entries": [{"count": 3}]},
        {"tries": [{"complete": True}], "try": 5, "tempo": "fast", "looks_like_the_passage": 1},
        {"tempo": True, "tries": [{"complete": 1}], "try": 0},
    ],
)
def test_a_document_of_another_shape_is_kept_and_counts_for_nothing(
    tmp_path: Path, document: dict[str, Any]
) -> None:
    """From another version, or another machine."""
    with open_history(tmp_path) as history:
        number = history.keep(kept_take(document=document))
        kept = history.take(number)
        assert kept is not None
        assert kept.record.document == document
        summary = history.summaries()[0]
        assert (summary.expected, summary.complete, summary.looks_like) == (0, False, None)
        history.bar_days("kitchen-rag")


def test_a_bar_on_a_day_is_the_middle_of_its_takes(tmp_path: Path) -> None:
    """One bad take does not stand for the day; another tempo is another row."""
    with open_history(tmp_path) as history:
        for number, (sd_ms, late_ms) in enumerate([(10, 5), (12, -3), (90, 60)]):
            bar = {"bar": 6, "matched": 3, "missed": number, "extra": 1}
            bar |= {"sd_ms": sd_ms, "median_offset_ms": late_ms}
            history.keep(changed(number, bars=[bar]))
        history.keep(kept_take(3, speed=1.0))
        slow = [day for day in history.bar_days("kitchen-rag") if day.tempo == 36]
        assert len(slow) == 1
        assert (slow[0].day, slow[0].bar, slow[0].takes) == ("2026-03-01", 6, 3)
        assert (slow[0].matched, slow[0].missed, slow[0].extra) == (9, 3, 3)
        assert slow[0].habit_s == pytest.approx(0.005)
        assert slow[0].spread_s == pytest.approx(0.012)
        assert {day.tempo for day in history.bar_days("kitchen-rag")} == {36, 72}
        assert history.bar_days("kitchen-rag", date(2026, 3, 2)) == ()


def test_what_was_not_heard_has_no_habit(tmp_path: Path) -> None:
    """Unknown is not zero."""
    bar = {"bar": 1, "matched": 0, "missed": 3, "extra": 0, "median_offset_ms": None, "sd_ms": None}
    with open_history(tmp_path) as history:
        history.keep(changed(0, bars=[bar], entries=[heard_entry(None, "missed")]))
        assert history.bar_days("kitchen-rag")[0].habit_s is None
        assert history.entry_days("kitchen-rag")[0].best_s is None


def test_an_entry_on_a_day_is_told_by_its_help(tmp_path: Path) -> None:
    """Best and last, with help and without."""
    tries = [("no help", -40, "early"), ("no help", 6, "in time"), ("no help", 80, "late")]
    tries.append(("rests counted aloud", 3, "in time"))
    with open_history(tmp_path) as history:
        for number, (helped, ms, verdict) in enumerate(tries):
            document = kept_take().document | {"entries": [heard_entry(ms, verdict)]}
            history.keep(kept_take(number, help=helped, document=document))
        alone, helped_day = history.entry_days("kitchen-rag")
    assert (alone.help, alone.tries, alone.in_time) == ("no help", 3, 1)
    assert alone.best_s == pytest.approx(0.006)
    assert alone.last_s == pytest.approx(0.08)
    assert alone.last_verdict == "late"
    assert (helped_day.help, helped_day.tries) == ("rests counted aloud", 1)
    assert (helped_day.bar, helped_day.count) == (9, "2&")


def test_a_tempo_is_reached_by_whole_takes_without_a_fault(tmp_path: Path) -> None:
    """Not by one that was broken off, or with a note missing."""
    broken: dict[str, Any] = {"tries": [{"complete": False}]}
    missed: dict[str, Any] = {"tally": {"expected": 9, "matched": 8, "missed": 1}}
    with open_history(tmp_path) as history:
        for number, document in enumerate(({}, broken, missed, {"mistakes": [{}]})):
            history.keep(changed(number, **document))
        day = history.tempo_days("kitchen-rag")[0]
    assert (day.day, day.tempo) == ("2026-03-01", 36.0)
    assert (day.takes, day.whole, day.clean) == (4, 3, 1)


def test_takes_of_some_bars_and_with_other_help_stand_apart(tmp_path: Path) -> None:
    """A clean bar 17 is not a clean passage, and help is not forgotten."""
    with open_history(tmp_path) as history:
        history.keep(kept_take(0))
        history.keep(kept_take(1, bars="17"))
        history.keep(kept_take(2, help="click"))
        days = history.tempo_days("kitchen-rag")
    assert {(day.bars, day.help, day.takes) for day in days} == {
        (None, None, 1),
        ("17", None, 1),
        (None, "click", 1),
    }


def test_a_take_of_another_piece_says_nothing_of_this_one(tmp_path: Path) -> None:
    """The wrong file, or noodling: kept, listed, and not counted."""
    with open_history(tmp_path) as history:
        history.keep(changed(0, looks_like_the_passage=False))
        assert len(history.summaries()) == 1
        assert history.bar_days("kitchen-rag") == ()
        assert history.entry_days("kitchen-rag") == ()
        assert history.tempo_days("kitchen-rag") == ()


def test_the_day_is_the_one_on_the_players_clock(tmp_path: Path) -> None:
    """Half past midnight in Berlin is not yesterday because it is so in Greenwich."""
    late = datetime(2026, 3, 2, 0, 30, tzinfo=EVENING)
    with open_history(tmp_path) as history:
        history.keep(kept_take(played_at=late))
        assert history.passages()[0].first_day == "2026-03-02"
        assert next(history.takes()).record.played_at.hour == 0


def test_passages_come_with_their_days_the_last_practised_first(tmp_path: Path) -> None:
    """What was practised, since when, how often."""
    with open_history(tmp_path) as history:
        for number in range(30):
            history.keep(kept_take(number, passage="rag" if number < 25 else "waltz"))
        waltz, rag = history.passages()
    assert (rag.passage, rag.title, rag.takes) == ("rag", "Kitchen Rag", 25)
    assert (rag.first_day, rag.last_day) == ("2026-03-01", "2026-03-02")
    assert (waltz.passage, waltz.takes) == ("waltz", 5)


def test_a_history_that_was_closed_opens_again_when_asked(tmp_path: Path) -> None:
    """Nothing depends on who closes first."""
    history = open_history(tmp_path)
    history.keep(kept_take())
    history.close()
    history.close()
    assert len(list(history.takes())) == 1
    history.close()


def test_the_usual_folder_is_the_users(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """RHYTHMTRAIN_HOME moves it."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    with open_history() as history:
        assert history.path == tmp_path / "home" / FILE_NAME


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"played_at": datetime(2026, 3, 1)}, "time zone"),  # noqa: DTZ001
        ({"speed": 0.0}, "speed must be more than 0"),
        ({"speed": math.nan}, "speed must be more than 0"),
        ({"repeats": 0}, "repeats must be 1 or more"),
        ({"duration_s": -1.0}, "must last 0 seconds or more"),
        ({"onsets": (Heard(math.inf),)}, "not a number of seconds"),
        ({"onsets": (Heard(2.0), Heard(1.0))}, "run backwards"),
        ({"title": "half \ud800"}, "half a letter"),
        ({"passage_name": "nul\0"}, "passage_name of a take must be text"),
        ({"title": None}, "title of a take must be text"),
        ({"document": {"x": math.nan}}, "plain JSON"),
        ({"document": {"x": "\ud800"}}, "plain JSON"),
        ({"document": {"x": {1, 2}}}, "plain JSON"),
    ],
)
def test_what_could_not_be_read_back_is_refused(changes: dict[str, Any], words: str) -> None:
    """Before anything is written."""
    with pytest.raises(TakeError, match=words):
        kept_take(**changes)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"start_s": math.inf}, "start must be a number"),
        ({"reached": -1}, "whole numbers from 0"),
        ({"bar_numbers": (2**40,)}, "whole numbers from 0"),
    ],
)
def test_conditions_nobody_could_judge_by_are_refused(values: dict[str, Any], words: str) -> None:
    """Before anything is written."""
    with pytest.raises(TakeError, match=words):
        Conditions(**values)


texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
numbers = st.floats(-1e6, 1e6)
onsets = st.lists(st.builds(Heard, numbers, numbers, numbers, st.none() | numbers), max_size=8).map(
    lambda each: tuple(sorted(each, key=lambda heard: heard.time_s))
)
moments = st.datetimes(datetime(1971, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001


@given(texts, onsets, moments, st.none() | texts)
def test_any_take_reads_back_from_its_rows(
    text: str, heard: tuple[Heard, ...], at: datetime, bars: str | None
) -> None:
    """Any title, any onsets, any moment: a row loses nothing."""
    record = kept_take(
        title=text, passage_name=text, onsets=heard, played_at=at, bars=bars, document={text: text}
    )
    played = parts_of(record)["played"][0]
    assert record_of(take_row(record), played, rhythm_row(record)) == record


def test_a_database_of_another_program_is_left_alone(tmp_path: Path) -> None:
    """One sentence, and not a byte of it changed."""
    other = sqlite3.connect(tmp_path / FILE_NAME)
    other.execute("CREATE TABLE letters (words)")
    other.commit()
    other.close()
    with pytest.raises(FileError, match="another program: move it away"):
        open_history(tmp_path)
    assert sorted(path.name for path in tmp_path.glob("*damaged*")) == []
