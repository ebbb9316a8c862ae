"""``rhythmtrain map`` as it is typed: what stands on stdout, on stderr, and the exit code."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.conftest import Typed

BEAT_S = 0.5


@pytest.fixture
def strokes(tmp_path: Path) -> Path:
    """Return a recording of sixteen even low strokes, half a second apart, from 1 s on."""
    rate = 22_050
    sound = 1e-4 * np.random.default_rng(1).standard_normal(11 * rate)
    t = np.arange(int(0.4 * rate)) / rate
    stroke = 0.5 * np.exp(-t / 0.1) * (np.sin(2 * np.pi * 110 * t) + np.sin(2 * np.pi * 440 * t))
    for beat in range(16):
        start = round((1 + BEAT_S * beat) * rate)
        sound[start : start + t.size] += stroke
    path = tmp_path / "strokes.wav"
    soundfile.write(path, sound, rate)
    return path


def test_json_is_one_document_with_every_beat(typed: Typed, strokes: Path) -> None:
    """A program reads it, and full precision is kept."""
    code, out, err = typed("map", strokes, "--at", "1=1.0", "--at", "4=0:07.0", "--json")
    document = json.loads(out)
    assert (code, err) == (0, "")
    assert set(document) == {"recording", "duration_s", "beats", "unsure_bars"}
    assert len(document["beats"]) == 16
    assert set(document["beats"][0]) == {"time_s", "bar", "beat", "uncertainty_s"}
    times = [beat["time_s"] for beat in document["beats"]]
    assert times == pytest.approx([1 + BEAT_S * beat for beat in range(16)], abs=0.02)


def test_text_says_how_sure_and_what_to_hear_and_writes_the_map(
    typed: Typed, strokes: Path, tmp_path: Path
) -> None:
    """The person is never left without a next step."""
    code, out, _ = typed("map", strokes, "--at", "1=1.0", "--at", "4=7.0", "-o", "strokes.beats")
    assert code == 0
    said = " ".join(out.split())
    assert "strokes.wav: bars 1 to 4 in 4/4, 16 beats, 0:01.0 to 0:08.5" in said
    assert "Half of the beats are known to" in said
    assert "--listen check.flac" in said
    lines = (tmp_path / "strokes.beats").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# strokes.wav, 4/4")
    assert {"# kept: at 1=1.0", "# kept: at 4=7.0", "# kept: metre 4/4"} <= set(lines)
    beats = [line.split("\t")[1] for line in lines if not line.startswith("#")]
    assert beats[:5] == ["1.1", "1.2", "1.3", "1.4", "2.1"]


def test_the_blind_case_is_refused_with_the_way_to_help(typed: Typed, strokes: Path) -> None:
    """By sound alone it would often be wrong and look sure."""
    code, out, err = typed("map", strokes)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert "tap the first two bars and mark the last (--taps FILE --end SECONDS)" in err
    assert "--at 1=2.41" in err


def test_a_slip_of_the_pen_is_one_line(typed: Typed, strokes: Path) -> None:
    """A tempo in words."""
    code, out, err = typed("map", strokes, "--at", "1=1", "--tempo", "fast")
    assert (code, out) == (2, "")
    assert "tempo must be a number of beats a minute, got 'fast'" in err
