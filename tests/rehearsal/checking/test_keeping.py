"""What was heard goes into the history, and can be judged again from there."""

import json
import os
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.devices.ports import Ended, How
from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.checking.check import CheckWish, check, check_file
from rhythmtrain.rehearsal.checking.checked import Asked, document, judged
from rhythmtrain.rehearsal.checking.keeping import judged_again, keep_checked, known_as, record_of
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.judged import as_far_as
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import accompaniment_for
from rhythmtrain.storage.history.history import FILE_NAME, KeptTake, open_history
from rhythmtrain.storage.history.lines import line_of, record_of_line
from rhythmtrain.timing.beside_recording import on_recording
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.rehearsal.conftest import Written

NOW = datetime(2026, 3, 1, 23, 30, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep the history of these tests in a folder of their own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def kept(number: int) -> KeptTake:
    """Return a take from the history."""
    with open_history() as history:
        take = history.take(number)
    assert take is not None
    return take


def silence(sentence: str) -> None:
    """Let nothing be said."""
    raise AssertionError(sentence)


def test_a_checked_take_is_kept_with_all_that_was_heard(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """Under its passage, on the day it was played."""
    wish = CheckWish(str(rag), speed=1.0, repeats=2)
    checked = check(written(times_s), wish)
    record = kept(keep_checked(checked, wish, now=NOW, helped="click", say=silence)).record
    assert record.passage_name == str(rag.resolve())
    assert (record.title, record.bars, record.repeats) == ("Kitchen Rag", None, 2)
    assert (record.source, record.instrument, record.timing) == ("text", "claps", "click")
    assert (record.played_at, record.day, record.help) == (NOW, "2026-03-01", "click")
    assert record.onsets == checked.take.heard
    assert record.document == document(checked)


@pytest.mark.parametrize("name", ["towpath-rag", "29-towpath-rag", "29-towpath-rag.toml"])
def test_a_supplied_drill_has_one_name_however_it_was_typed(name: str) -> None:
    """Its takes are found together."""
    assert known_as(name) == "29-towpath-rag"


def test_a_drill_of_ones_own_is_known_by_its_place(
    rag: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Typed from another folder it is the same drill."""
    monkeypatch.chdir(rag.parent)
    assert known_as("rag.toml") == known_as(str(rag)) == str(rag.resolve())


WISHES = {
    "at a given speed": {"speed": 1.0, "repeats": 2},
    "the tempo found": {"repeats": 2},
    "the start given": {"speed": 1.0, "repeats": 2, "start": 2.0},
    "freely": {"speed": 1.0, "repeats": 2, "timing": "free"},
    "an instrument": {"speed": 1.0, "repeats": 2, "kind": "wind"},
}


@pytest.mark.parametrize("wish", WISHES.values(), ids=WISHES)
def test_a_take_judged_again_by_the_same_rules_is_told_the_same(
    rag: Path, times_s: list[float], written: Written, wish: dict[str, float | str]
) -> None:
    """Every number and every word; also once the drill file is gone."""
    times_s[6] += 0.3
    del times_s[3]
    asked = CheckWish(str(rag), **wish)  # type: ignore[arg-type]
    checked = check(written(times_s), asked)
    number = keep_checked(checked, asked, now=NOW, say=silence)
    rag.unlink()
    again = document(judged_again(kept(number)))
    advice = [line.replace(str(rag), rag.stem) for line in checked.said.lines]
    assert again == document(checked) | {"advice": advice}


def test_what_a_loudspeaker_may_have_hidden_is_not_missed_in_a_year_either(
    rag: Path, times_s: list[float]
) -> None:
    """A note that was not checked beside the loudspeaker stays so when judged again."""
    wish = CheckWish(str(rag), speed=1.0, repeats=2)
    unheard = times_s[5]
    heard = tuple(Heard(time) for time in times_s if time != unheard)
    take = Take("audio", "microphone", heard, 40.0, hidden_s=(unheard + 1 / 300,))
    timeline = lay_out(find_passage(str(rag)), Practice(repeats=2))
    checked = judged(timeline, take, Settings(start_s=2.0, speed=1.0), Asked(str(rag)))
    assert document(checked)["tally"]["missed"] == 0
    again = judged_again(kept(keep_checked(checked, wish, now=NOW, say=silence)))
    assert again.take.hidden_s == take.hidden_s
    assert document(again) | {"advice": []} == document(checked) | {"advice": []}


def test_an_excerpt_keeps_its_printed_bars_and_its_entries(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """Bar 3 stays bar 3."""
    late = [time for time in times_s if 2 + 2 * 2 * 60 / 72 < time < 2 + 8 * 2 * 60 / 72 + 0.2]
    wish = CheckWish(str(rag), bars="3-9", speed=1.0)
    checked = check(written(late), wish)
    assert checked.findings.entries
    record = kept(keep_checked(checked, wish, now=NOW, say=silence)).record
    assert record.bars == "3-9"
    assert record.conditions.bar_numbers == tuple(range(3, 10))
    again = document(judged_again(KeptTake(1, record)))
    assert again | {"advice": []} == document(checked) | {"advice": []}


def test_a_take_that_was_stopped_is_judged_again_as_far_as_it_went(
    rag: Path, times_s: list[float]
) -> None:
    """What was not reached was not missed, today and in a year."""
    wish = CheckWish(str(rag), speed=1.0, repeats=2)
    take = Take("keys", "keys", tuple(Heard(time) for time in times_s[:9]), 30.0)
    from_bar_1 = replace(take, heard=tuple(Heard(each.time_s - 2.0) for each in take.heard))
    gathered = Gathered(48_000)
    gathered.ended = Ended(How.STOPPED)
    whole = lay_out(find_passage(str(rag)), Practice(repeats=2))
    timeline = as_far_as(whole, gathered, from_bar_1)
    settings = Settings(start_s=2.0, speed=1.0)
    asked = Asked(str(rag), delay_known=False, stopped=True)
    checked = judged(timeline, take, settings, asked)
    assert len(timeline.notes) < len(whole.notes)
    again = judged_again(kept(keep_checked(checked, wish, now=NOW, say=silence)))
    assert document(again) | {"advice": []} == document(checked) | {"advice": []}
    assert again.heard.playing == checked.heard.playing


def test_a_take_without_its_passage_says_why_it_cannot_be_judged(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """Imported from a program that did not write it down."""
    wish = CheckWish(str(rag), speed=1.0, repeats=2)
    record = record_of(check(written(times_s), wish), wish, now=NOW)
    with pytest.raises(FileError, match="take 3 was kept without its passage"):
        judged_again(KeptTake(3, replace(record, drill="")))


def test_a_passage_that_no_drill_can_say_is_kept_without_it(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """A bar counted in another way than the rest: the take is kept, and what was heard."""
    wish = CheckWish(str(rag), speed=1.0, repeats=2)
    checked = check(written(times_s), wish)
    passage = checked.timeline.passage
    odd = replace(passage.bars[2], metre=passage.metre.with_beat("eighth"))
    bars = (*passage.bars[:2], odd, *passage.bars[3:])
    timeline = replace(checked.timeline, passage=replace(passage, bars=bars))
    number = keep_checked(replace(checked, timeline=timeline), wish, now=NOW, say=silence)
    assert kept(number).record.drill == ""
    assert kept(number).record.document == document(checked)


def test_check_keeps_the_take_where_asked(
    rag: Path, times_s: list[float], written: Written, home: Path
) -> None:
    """On the day the file was made; checking the file again is no second take."""
    take = written(times_s)
    made = datetime(2026, 2, 3, 12, tzinfo=UTC)
    os.utime(take, (made.timestamp(), made.timestamp()))
    wish = CheckWish(str(rag), speed=1.0, repeats=2, keep=True)
    for _ in range(2):
        told = check_file(take, wish)
        assert told.text.endswith("Kept in your history as take 1.")
        assert told.document["kept_as"] == 1
        assert told.warnings == ()
    assert kept(1).record.played_at == made
    assert "kept_as" not in kept(1).record.document
    assert (home / FILE_NAME).is_file()


def test_check_keeps_nothing_unasked(
    rag: Path, times_s: list[float], written: Written, home: Path
) -> None:
    """Looking at a pupil's take does not mix it with one's own."""
    told = check_file(written(times_s), CheckWish(str(rag), speed=1.0, repeats=2))
    assert "history" not in told.text
    assert "kept_as" not in told.document
    assert not home.exists()


def test_a_file_of_the_future_was_made_by_now(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """A camera whose clock is wrong does not put practice into next year."""
    take = written(times_s)
    os.utime(take, (4e9, 4e9))
    check_file(take, CheckWish(str(rag), speed=1.0, repeats=2, keep=True))
    assert kept(1).record.played_at <= datetime.now(UTC)


def test_another_piece_is_not_kept(rag: Path, written: Written, home: Path) -> None:
    """The wrong file is no practice."""
    times = np.cumsum(np.tile([0.31, 0.31, 0.93, 0.155, 0.62], 12)).tolist()
    told = check_file(written(times), CheckWish(str(rag), speed=1.0, repeats=2, keep=True))
    assert told.failure
    assert "history" not in told.text
    assert not home.exists()


def test_a_damaged_history_is_mended_beside_the_answer(
    rag: Path, times_s: list[float], written: Written, home: Path
) -> None:
    """One sentence on it, and the take is kept."""
    home.mkdir()
    (home / FILE_NAME).write_bytes(b"rubbish" * 1000)
    told = check_file(written(times_s), CheckWish(str(rag), speed=1.0, repeats=2, keep=True))
    assert "was damaged: no take could be read" in told.warnings[0]
    assert told.text.endswith("Kept in your history as take 1.")


def test_what_was_heard_is_told_also_where_it_cannot_be_kept(
    rag: Path, times_s: list[float], written: Written, home: Path
) -> None:
    """A full disk costs the history, not the answer; a script sees it."""
    home.write_bytes(b"a file in the place of the folder")
    told = check_file(written(times_s), CheckWish(str(rag), speed=1.0, repeats=2, keep=True))
    assert "Every note was there" in told.text
    assert told.failure.startswith("the take was heard but not kept: cannot write")
    assert "kept_as" not in told.document


@pytest.mark.parametrize("more", [{}, {"freely": True}, {"meet": "5,14"}, {"speed": 0.7}])
def test_a_take_played_with_a_recording_is_judged_again_from_what_was_kept(
    written: Written, more: dict[str, Any]
) -> None:
    """Also when the recording and its beat map are gone: where the accompanist was is in the take."""
    name = "32-sluice-gate-rag"
    speed = more.get("speed", 1.0)
    mapped = accompaniment_for(name, find_passage(name)).mapped
    timeline = on_recording(lay_out(find_passage(name), Practice(speed=speed)), mapped)
    rng = np.random.default_rng(8)
    late = [0.9 if note.bar == 14 else 0.0 for note in (each.note for each in timeline.notes)]
    times = [
        3.0 + float(timeline.seconds(note.at)) + away / speed + float(rng.normal(0, 0.015))
        for note, away in zip(timeline.notes, late, strict=True)
    ]
    wish = CheckWish(name, timing="recording", start=3.0, **({"speed": 1.0} | more))
    checked = check(written(times), wish)
    number = keep_checked(checked, wish, now=NOW, say=silence)
    take = kept(number)
    again = document(judged_again(take))
    assert json.dumps(_rounded(again)) == json.dumps(_rounded(document(checked)))
    assert [entry["verdict"] for entry in again["entries"]] != ["in time", "in time"]
    line = record_of_line(line_of(take.record))
    assert line == take.record


def test_a_take_of_an_older_version_beside_a_recording_says_what_it_lacks(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """What was heard then still stands."""
    wish = CheckWish(str(rag), speed=1.0, repeats=2)
    record = record_of(check(written(times_s), wish), wish, now=NOW)
    with pytest.raises(FileError, match="were not kept then"):
        judged_again(KeptTake(1, replace(record, timing="recording")))


def _rounded(value: Any) -> Any:
    """Return a document with its numbers to a millionth: a map that is laid anew differs by less."""
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_rounded(each) for each in value]
    return round(value, 6) + 0.0 if isinstance(value, float) else value
