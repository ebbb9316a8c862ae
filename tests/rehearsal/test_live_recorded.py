"""Coming in and clapping with a recorded accompaniment that breathes, on the shipped fakes."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.rehearsal.dry_run import Player
from rhythmtrain.rehearsal.enter import EnterWish, practise_entry
from tests.simulate.performances import Performed
from tests.simulate.performances import perform as performed

BEATS_UNSURE_S = 0.008
BARS = 14
SEED = 31
ENTRY_BAR = 10


def drill_of(performance: Performed, folder: Path, *, first: int = 1, last: int = BARS) -> Path:
    """Write a drill, the recording of its accompaniment, and the map of bars ``first`` to ``last``."""
    beats = performance.piece.beats
    soundfile.write(folder / "piano.wav", performance.sound, performance.rate)
    rows = [
        f"{second:.4f}\t{1 + number // beats}.{1 + number % beats}\t{BEATS_UNSURE_S}"
        for number, second in enumerate(performance.beats_s)
        if first <= 1 + number // beats <= last
    ]
    (folder / "piano.beats").write_text("\n".join(rows), encoding="utf-8")
    bar = " ".join(str(beat + 1) for beat in range(beats))
    path = folder / "lock.toml"
    path.write_text(
        f'title = "Lock Keeper"\nmetre = "{beats}/4"\ntempo = 96\n'
        f'rhythm = """\n{bar} | rest 8 | (1) & 2 | {bar} | 1 | 1 2 | {bar}\n"""\n'
        '[accompaniment]\nrecording = "piano.wav"\nbeats = "piano.beats"\n',
        encoding="utf-8",
    )
    return path


@pytest.fixture(scope="module")
def breathing() -> Performed:
    """Return a pianist whose bars differ by a tenth and more."""
    found = performed(SEED, expressive=True, bars=BARS)
    lengths = np.diff(found.downbeats_s)
    assert lengths.std() / lengths.mean() > 0.08
    return found


@pytest.fixture
def drill(breathing: Performed, tmp_path: Path) -> Path:
    """Return a drill with it beside."""
    return drill_of(breathing, tmp_path)


def entered_late_by(
    monkeypatch: pytest.MonkeyPatch, drill: Path, late_s: float, speed: float
) -> dict[str, object]:
    """Return what was told of one try by a player who is ``late_s`` behind everything."""
    monkeypatch.setattr("rhythmtrain.rehearsal.enter.DRY_LATE_S", (late_s,))
    monkeypatch.setattr("rhythmtrain.rehearsal.enter.DRY_PLAYER", Player(uneven_s=0.004))
    wish = EnterWish(str(drill), speed=speed, tries=1, dry_run=True)
    (told,) = practise_entry(wish).document["tries"]
    return dict(told)


def beat_s_at_entry(performance: Performed) -> float:
    """Return how long the beat before the entry is."""
    at = (ENTRY_BAR - 1) * performance.piece.beats
    return float(performance.beats_s[at] - performance.beats_s[at - 1])


@pytest.mark.parametrize("speed", [1.0, 0.5])
def test_an_entry_a_beat_early_is_told_so_and_one_in_time_is_in_time(
    monkeypatch: pytest.MonkeyPatch, drill: Path, breathing: Performed, speed: float
) -> None:
    """Against where the pianist really is, at the recording's speed and at half of it."""
    beat_s = beat_s_at_entry(breathing) / speed
    early = entered_late_by(monkeypatch, drill, -beat_s, speed)
    assert "one beat early" in str(early["went"])
    assert early["in_time"] is False
    assert early["offset_beats"] == pytest.approx(-1, abs=0.15)
    right = entered_late_by(monkeypatch, drill, -0.01, speed)
    assert right["in_time"] is True
    assert abs(float(str(right["offset_ms"]))) < 40
