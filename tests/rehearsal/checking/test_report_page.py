"""The page's sounds: each bar of which something is said, as played and then as written."""

from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.report_page import (
    BREATH_S,
    MOST_CLIPS,
    RATE,
    section,
    write_page,
)
from tests.rehearsal.conftest import Written

BAR_S = 2 * 60 / 72


def _clip(sound: bytes) -> Any:
    samples, rate = soundfile.read(BytesIO(sound))
    assert rate == RATE
    return samples


def test_only_bars_of_which_something_is_said_can_be_heard(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """The late note's bar, and the entry's."""
    times_s[6] += 0.3
    take = written(times_s)
    told = section(check(take, CheckWish(str(rag), speed=1.0, repeats=2)), take)
    assert sorted(told.clips) == [2, 9]
    sound = _clip(told.clips[2])
    assert len(sound) / RATE == pytest.approx(2 * BAR_S + BREATH_S + 0.25 + 0.3, abs=0.5)
    breath = round((BAR_S + 0.45) * RATE), round((BAR_S + 0.6) * RATE)
    assert np.abs(sound[breath[0] : breath[1]]).max() < 0.01


def test_a_text_take_is_made_audible_with_claps(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """Where the note lay, a clap: a missing one is a gap."""
    del times_s[3]
    take = written(times_s)
    told = section(check(take, CheckWish(str(rag), speed=1.0, repeats=2)), take)
    sound = np.abs(_clip(told.clips[1]))
    beat = 60 / 72
    gap = round((0.15 + beat - 0.02) * RATE), round((0.15 + beat + 0.15) * RATE)
    first = round(0.12 * RATE), round(0.3 * RATE)
    assert sound[first[0] : first[1]].max() > 0.2
    assert sound[gap[0] : gap[1]].max() < 0.05


def test_a_recorded_bar_is_cut_where_it_was_played(
    rag: Path, times_s: list[float], tmp_path: Path
) -> None:
    """From the recording itself; claps here are bursts at the times played."""
    times_s[6] += 0.3
    sound = np.zeros(round((times_s[-1] + 1) * RATE), np.float32)
    burst = np.random.default_rng(3).normal(0, 0.3, 900) * np.exp(-np.arange(900) / 150)
    for time in times_s:
        at = round(time * RATE)
        sound[at : at + 900] += burst.astype(np.float32)
    take = tmp_path / "take.wav"
    soundfile.write(take, sound, RATE)
    told = section(check(take, CheckWish(str(rag), speed=1.0, repeats=2)), take)
    assert told.heard.playing.noun == "clap"
    clip = np.abs(_clip(told.clips[2]))
    assert clip[: round(BAR_S * RATE)].max() > 0.2


def test_a_phrase_after_a_stop_is_cut_where_it_was_played(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """A step back moves everything after it; the clip moves too."""
    once = times_s[: len(times_s) // 2]
    again = [time + 9.0 for time in once[5:]]
    again[-1] += 0.3
    take = written([*once[:12], *again])
    told = section(check(take, CheckWish(str(rag), speed=1.0)), take)
    assert told.clips
    last = _clip(told.clips[max(told.clips)])
    assert np.abs(last[: round(BAR_S * RATE)]).max() > 0.2


def test_a_long_bad_take_keeps_its_page_small(tmp_path: Path, written: Written) -> None:
    """At most forty bars to hear, and a few megabytes."""
    drill = tmp_path / "long.toml"
    bars = " | ".join(["1 & 2 &", "1 e & a 2", "(1) & 2", "1 2 &"] * 25)
    drill.write_text(
        f'title = "Long Lane"\nmetre = "2/4"\ntempo = 90\nrhythm = """\n{bars}\n"""\n',
        encoding="utf-8",
    )
    wish = CheckWish(str(drill), speed=1.0)
    whole = check(written([2.0, 2.3, 2.7]), wish).timeline
    rng = np.random.default_rng(5)
    times = [2 + whole.seconds(note.at) for note in whole.notes if rng.random() > 0.2]
    take = written(times)
    checked = check(take, wish)
    assert len(section(checked, take).clips) == MOST_CLIPS
    page = tmp_path / "heard.html"
    write_page([(checked, take)], page, title="Heard")
    assert page.stat().st_size < 3_000_000
