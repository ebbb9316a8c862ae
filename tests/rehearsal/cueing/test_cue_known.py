"""Came in after the wrong cue: known from the accompanist's notes, or heard in the recording."""

import json
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.assess.findings import EntryFinding
from rhythmtrain.assess.settings import Settings
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish, check, check_file
from rhythmtrain.rehearsal.checking.checked import Asked, judged
from rhythmtrain.rehearsal.checking.keeping import judged_again, record_of
from rhythmtrain.storage.history.history import Conditions, KeptTake
from rhythmtrain.storage.history.plain_json import conditions_of, conditions_table
from tests.rehearsal.checking.test_keeping import NOW
from tests.simulate.cue_table import counted
from tests.simulate.midi_bytes import midi, note, track
from tests.simulate.performances import HELD_OUT
from tests.simulate.pianos import RATE, hiss, mixed

DRILL = """
title = "Mill Stream"
metre = "2/4"
tempo = 80
rhythm = "1 & 2 | 1 2 & | 1 & 2 & | 1 2 | rest 6 | 1 2 & | 1 2 | 1 & 2 | 1 2"
{more}
"""
RECORDED = '[accompaniment]\nrecording = "piano.wav"\nbeats = "piano.beats"'
NOTED = '[accompaniment]\nnotes = "piano.mid"'
BARS, ENTRY_BAR = 14, 11
# What the piano plays in each bar, in beats: bar 10 leads to the entry.
CUE = (0, 0.5, 1.5)
PLAIN, LONG, BUSY = (0, 1), (0,), (0, 0.5, 1, 1.5)
FIGURES = (LONG, PLAIN, PLAIN, LONG, BUSY, PLAIN, LONG, BUSY, PLAIN, CUE, PLAIN, BUSY, PLAIN, LONG)
# An accompanist who breathes.
BEATS_S = 1.0 + np.concatenate(([0.0], np.cumsum(0.75 + 0.06 * np.sin(np.arange(2 * BARS) / 3))))


def played(*more: int) -> list[float]:
    """Return the piano's onsets in beats; the bars ``more`` have the entry's cue too."""
    figures = [CUE if bar in more else each for bar, each in enumerate(FIGURES, start=1)]
    return [2 * (bar - 1) + at for bar, figure in enumerate(figures, start=1) for at in figure]


def score(folder: Path, *more: int) -> None:
    """Write the accompanist's notes: each lasts until the next."""
    onsets = [*played(*more), 2 * BARS]
    notes = b"".join(
        note(60 + 5 * (i % 3), length=round(480 * (late - early)))
        for i, (early, late) in enumerate(pairwise(onsets))
    )
    (folder / "piano.mid").write_bytes(midi([track(b"\x00\xff\x58\x04\x02\x02\x18\x08" + notes)]))


def make_recording(folder: Path, *more: int) -> None:
    """Write a recording of the piano with its beat map."""
    onsets = np.interp(played(*more), range(len(BEATS_S)), BEATS_S)
    hands = np.array([[40.0 + 7 * (i % 3), 62.0 + 5 * (i % 4)] for i in range(len(onsets))])
    rng = np.random.default_rng(7)
    notes = (
        np.repeat(onsets, 2),
        hands.ravel(),
        np.full(hands.size, 0.6),
        np.full(hands.size, 0.2),
    )
    sound = mixed(notes, length_s=BEATS_S[-1] + 2, which=1, room=rng)
    soundfile.write(folder / "piano.wav", sound + hiss(rng, sound.size, -55), RATE)
    lines = [f"{second:.4f}\t{1 + i // 2}.{1 + i % 2}" for i, second in enumerate(BEATS_S[:-1])]
    (folder / "piano.beats").write_text("\n".join(lines), encoding="utf-8")


def take(folder: Path, *, early_beats: int, recorded: bool) -> Path:
    """Write a take whose second phrase came so many beats early, beside the piano or a click."""
    beats = [0, 0.5, 1, 2, 3, 3.5, 4, 4.5, 5, 5.5, 6, 7]
    entry = 2 * (ENTRY_BAR - 1) - early_beats
    beats += [entry + at for at in (0, 1, 1.5, 2, 3, 4, 4.5, 5, 6, 7)]
    even = np.arange(len(BEATS_S)) * 60 / 80
    times = np.interp(beats, range(len(BEATS_S)), BEATS_S if recorded else even)
    path = folder / "take.txt"
    path.write_text("\n".join(f"{each:.4f}" for each in times), encoding="utf-8")
    return path


def wished(folder: Path, *, recorded: bool, notes: Path | None = None) -> CheckWish:
    """Return how a take is checked: beside the recording or a click."""
    (folder / "mill.toml").write_text(
        DRILL.format(more=RECORDED if recorded else NOTED), encoding="utf-8"
    )
    timing = "recording" if recorded else "click"
    start = float(BEATS_S[0]) if recorded else 0.0
    return CheckWish(str(folder / "mill.toml"), speed=1.0, timing=timing, start=start, notes=notes)


def entry(folder: Path, *, early_beats: int, recorded: bool) -> EntryFinding:
    """Return what was found of the entry in bar 11."""
    path = take(folder, early_beats=early_beats, recorded=recorded)
    (only,) = check(path, wished(folder, recorded=recorded)).findings.entries
    return only


@pytest.mark.parametrize("recorded", [False, True])
@pytest.mark.parametrize("wrong", [6, 8])
def test_whoever_followed_the_same_figure_elsewhere_is_told_so(
    tmp_path: Path, wrong: int, *, recorded: bool
) -> None:
    """The bar before the entry sounds like an earlier one: a listener comes in after that."""
    make = make_recording if recorded else score
    make(tmp_path, wrong)
    found = entry(tmp_path, early_beats=2 * (10 - wrong), recorded=recorded)
    assert found.verdict == {6: "four bars early", 8: "two bars early"}[wrong]
    assert found.wrong_cue == wrong + 1


@pytest.mark.parametrize("recorded", [False, True])
@pytest.mark.parametrize("early_beats", [1, 2, 4])
def test_no_cue_is_blamed_where_it_comes_once(
    tmp_path: Path, early_beats: int, *, recorded: bool
) -> None:
    """A miscount is a miscount."""
    make = make_recording if recorded else score
    make(tmp_path)
    assert entry(tmp_path, early_beats=early_beats, recorded=recorded).wrong_cue is None


@pytest.mark.parametrize("recorded", [False, True])
@pytest.mark.parametrize("early_beats", [0, 1])
def test_no_cue_is_blamed_where_the_player_came_in_elsewhere(
    tmp_path: Path, early_beats: int, *, recorded: bool
) -> None:
    """It comes twice, but the player did not follow it."""
    make = make_recording if recorded else score
    make(tmp_path, 8)
    assert entry(tmp_path, early_beats=early_beats, recorded=recorded).wrong_cue is None


def test_a_take_that_is_kept_is_judged_again_with_its_cues(tmp_path: Path) -> None:
    """The recording may be gone by then."""
    make_recording(tmp_path, 8)
    wish = wished(tmp_path, recorded=True)
    checked = check(take(tmp_path, early_beats=4, recorded=True), wish)
    record = record_of(checked, wish, now=NOW)
    on_disk = json.loads(json.dumps(conditions_table(record.conditions)))
    conditions = conditions_of(on_disk, record.conditions.bar_numbers)
    assert conditions == record.conditions
    again = judged_again(KeptTake(1, replace(record, conditions=conditions)))
    assert again.findings.entries == checked.findings.entries
    assert again.findings.entries[0].wrong_cue == 9


def test_a_take_kept_by_an_early_version_knows_its_cues_still(tmp_path: Path) -> None:
    """It kept of each stroke whether it was sure; one unsure stroke was allowed, two were not."""
    rows = [["0", True], ["1/2", False]]
    table = conditions_table(Conditions()) | {"strokes": rows}
    assert conditions_of(table, ()).strokes == ((Fraction(0), 1.0), (Fraction(1, 2), 0.5))
    score(tmp_path, 8)
    checked = check(take(tmp_path, early_beats=4, recorded=False), wished(tmp_path, recorded=False))
    for unsure, bar in ((1, 9), (2, None)):
        strokes = list(checked.timeline.strokes)
        for place in range(unsure):
            at = [number for number, (where, _) in enumerate(strokes) if where >= 2 * 9][place]
            strokes[at] = (strokes[at][0], 0.5)
        timeline = replace(checked.timeline, strokes=tuple(strokes))
        settings = Settings("click", 0.0, 1.0)
        (entry,) = judged(timeline, checked.take, settings, Asked("mill")).findings.entries
        assert entry.wrong_cue == bar


def test_most_cues_that_come_twice_are_heard_in_the_sound_alone() -> None:
    """On performances of a piano that nothing was fitted on; few others may be named."""
    found = sum((counted(HELD_OUT + 7300 + number) for number in range(5)), Counter())
    assert found["found"] >= 0.5 * found["there"] > 4
    assert found["wrong"] <= 0.1 * found["entries"]


def test_notes_that_are_given_are_said_in_words(tmp_path: Path) -> None:
    """One sentence: by how much, after which cue, and what helps."""
    score(tmp_path, 8)
    wish = wished(tmp_path, recorded=False, notes=tmp_path / "piano.mid")
    told = check_file(take(tmp_path, early_beats=4, recorded=False), wish)
    assert (
        "came in two bars early, after the wrong cue: the same one leads to bar 9 too"
        in " ".join(told.text.split())
    )


def test_notes_of_another_piece_are_refused(tmp_path: Path) -> None:
    """They would know nothing, and say nothing."""
    score(tmp_path)
    wish = wished(tmp_path, recorded=False, notes=tmp_path / "piano.mid")
    text = DRILL.format(more="").replace("2/4", "3/4").replace("2 ", "2 3 ")
    (tmp_path / "mill.toml").write_text(text, encoding="utf-8")
    with pytest.raises(RequestError, match=r"piano.mid has bars 1 to 14 and nothing in the bars"):
        check(take(tmp_path, early_beats=0, recorded=False), wish)


def test_a_recording_of_digital_silence_blames_no_cue(tmp_path: Path) -> None:
    """A take is told all the same when its accompanist cannot be heard."""
    make_recording(tmp_path)
    soundfile.write(tmp_path / "piano.wav", np.zeros(int(RATE * (BEATS_S[-1] + 2))), RATE)
    found = entry(tmp_path, early_beats=4, recorded=True)
    assert (found.verdict, found.wrong_cue) == ("two bars early", None)
