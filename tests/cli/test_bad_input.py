"""Everything that can be typed or given wrongly: one clear line, exit code 1 or 2, nothing left.

The line names the thing, the value and the remedy; there is never a traceback.
"""

import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.conftest import RAG, Typed

RATE = 22_050


def _one_line(said: tuple[int, str, str], code: int, *words: str) -> None:
    got, out, err = said
    assert got == code, err
    assert out == ""
    assert err.startswith("rhythmtrain: ")
    assert err.count("\n") == 1
    assert "Traceback" not in err
    for word in words:
        assert word in err


def _drill(
    folder: Path, *, rhythm: str = "1 2", metre: str = '"2/4"', tempo: str = "72", more: str = ""
) -> Path:
    path = folder / "bad.toml"
    path.write_text(
        f'title = "x"\nmetre = {metre}\ntempo = {tempo}\n{more}\nrhythm = """\n{rhythm}\n"""\n',
        encoding="utf-8",
    )
    return path


@pytest.mark.parametrize(
    ("rhythm", "words"),
    [
        ("1 2 3", ["beat 3 is named, but 2/4 has two beats"]),
        ("2 1", []),
        ("1 1", []),
        ("1 (2", ["bracket"]),
        ("1 [2", ["bracket"]),
        ("1 2 | & 2", ["which beat"]),
        ("1 2 | | 1", ["empty"]),
        ("[1] 2", []),
        ("|: 1 2 | 1 2", []),
        ("rest 999999999", ["999"]),
        ("1 2 | rest 0", []),
        ("1 zwei", []),
        ("1 2 :| x500 1 2", []),
    ],
)
def test_a_rhythm_that_does_not_read_is_one_line_with_its_place(
    typed: Typed, tmp_path: Path, rhythm: str, words: list[str]
) -> None:
    """The writer finds the slip at once: file, line, bar, and what would be right."""
    said = typed("show", _drill(tmp_path, rhythm=rhythm))
    _one_line(said, 1, "bad.toml:6", *words)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"metre": '"0/4"'}, ["metre", "0/4"]),
        ({"metre": '"4/5"'}, ["4/5"]),
        ({"metre": '"waltz"'}, ["waltz"]),
        ({"tempo": "0"}, ["tempo", "more than 0"]),
        ({"tempo": "nan"}, ["tempo"]),
        ({"tempo": "inf"}, ["tempo"]),
        ({"tempo": '"fast"'}, ["tempo", "fast"]),
        ({"more": 'beat = "dotted crochet"'}, ["dotted crochet", "dotted crotchet"]),
        ({"more": 'beat = "half"', "metre": '"3/4"', "rhythm": "1 2 3"}, ["3/4", "half"]),
        ({"more": "temop = 80"}, ["temop", "tempo"]),
        ({"more": '[[entry]]\nbar = 40\ncount = "1"\n'}, []),
    ],
)
def test_a_drill_that_cannot_be_meant_is_one_line(
    typed: Typed, tmp_path: Path, fields: dict[str, str], words: list[str]
) -> None:
    """The key, the value, and the nearest thing that would be right."""
    if fields.get("more", "").startswith("[["):
        path = tmp_path / "bad.toml"
        path.write_text(RAG + fields["more"], encoding="utf-8")
    else:
        path = _drill(tmp_path, **fields)
    _one_line(typed("show", path), 1, *words)


@pytest.mark.parametrize("place", ["../out.flac", "/etc/passwd", "C:\\\\out.flac"])
def test_a_drill_never_leaves_its_folder(typed: Typed, tmp_path: Path, place: str) -> None:
    """A drill from a stranger must not read another file of this machine."""
    more = f'[accompaniment]\nrecording = "{place}"\nbeats = "a.beats"\n'
    path = tmp_path / "bad.toml"
    path.write_text(RAG + more, encoding="utf-8")
    _one_line(typed("show", path), 1, "folder")


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["show", "gone.toml"], 1, "gone"),
        (["show", "nosuchdrill"], 2, "nosuchdrill"),
        (["show", "{rag}", "--bars", "50-60"], 2, "no bar 50"),
        (["show", "{rag}", "--bars", "5-2"], 2, "backwards"),
        (["show", "{rag}", "--bars", "all"], 2, "17-24"),
        (["track", "{rag}", "-o", "a.flac", "--speed", "0"], 2, "speed"),
        (["track", "{rag}", "-o", "a.flac", "--speed", "nan"], 2, "speed"),
        (["track", "{rag}", "-o", "a.flac", "--speed", "fast"], 2, "'fast'"),
        (["track", "{rag}", "-o", "a.flac", "--tempo", "0"], 2, "tempo"),
        (["track", "{rag}", "-o", "a.flac", "--tempo", "nan"], 2, "tempo"),
        (["track", "{rag}", "-o", "a.flac", "--tempo", "60", "--speed", "0.5"], 2, "not both"),
        (["track", "{rag}", "-o", "a.flac", "--repeats", "0"], 2, "repeats"),
        (["track", "{rag}", "-o", "a.flac", "--count-in", "-1"], 2, "count-in"),
        (["track", "{rag}", "-o", "a.flac", "--layers", "drums"], 2, "drums"),
        (["track", "{rag}", "-o", "a.flac", "--layers", ""], 2, "layers"),
        (["track", "{rag}", "-o", "a.flac", "--language", "xx"], 2, "xx"),
        (["track", "{rag}", "-o", "a.flac", "--subdivide", "0"], 2, "subdivide"),
        (["track", "{rag}", "-o", "a.xyz"], 2, ".xyz"),
        (["track", "{rag}", "-o", "gone/a.flac"], 1, "does not exist"),
        (["track", "{rag}", "-o", "a.flac", "--voice", "gone"], 1, "gone"),
        (["track", "{rag}"], 2, "--output"),
        (["trakc", "{rag}"], 2, "trakc"),
        (["check", "gone.wav", "{rag}"], 1, "gone.wav"),
        (["check", "gone.xyz", "{rag}"], 1, "gone.xyz"),
        (["check", "{rag}", "{rag}"], 1, "not a kind of take"),
        (["check", ".", "{rag}"], 1, "folder"),
    ],
)
def test_a_wish_that_cannot_be_met_is_one_line(
    typed: Typed, rag: Path, words: list[str], code: int, message: str
) -> None:
    """Wrong usage leaves with 2, what could not be done with 1; nothing half-written stays."""
    before = sorted(rag.parent.iterdir())
    _one_line(typed(*(word.format(rag=rag) for word in words)), code, message)
    assert sorted(rag.parent.iterdir()) == before


def _sound(folder: Path, name: str, samples: np.ndarray) -> Path:
    path = folder / name
    soundfile.write(str(path), samples, RATE, subtype="FLOAT" if name.endswith("wav") else None)
    return path


def test_a_silent_recording_says_so(typed: Typed, rag: Path) -> None:
    """The microphone was off: the commonest mishap of all."""
    path = _sound(rag.parent, "take.wav", np.zeros(3 * RATE))
    _one_line(typed("check", path, rag), 1, "take.wav", "silent")


def test_samples_that_are_no_numbers_say_so(typed: Typed, rag: Path) -> None:
    """A broken driver writes NaN."""
    sound = np.zeros(3 * RATE)
    sound[RATE] = np.nan
    _one_line(typed("check", _sound(rag.parent, "take.wav", sound), rag), 1, "take.wav")


def test_three_seconds_of_noise_hold_no_claps(typed: Typed, rag: Path) -> None:
    """A fan beside the phone is not a take."""
    noise = 0.1 * np.random.default_rng(1).standard_normal(3 * RATE)
    _one_line(typed("check", _sound(rag.parent, "take.wav", noise), rag), 1, "no clap or note")


def test_a_wav_cut_short_says_so(typed: Typed, rag: Path) -> None:
    """Half a download."""
    path = _sound(rag.parent, "take.wav", 0.1 * np.ones(3 * RATE))
    path.write_bytes(path.read_bytes()[:4000])
    _one_line(typed("check", path, rag), 1, "cut short")


def test_a_file_of_rubbish_says_so(typed: Typed, rag: Path) -> None:
    """A renamed picture."""
    path = rag.parent / "take.wav"
    path.write_bytes(b"RIFF" + struct.pack("<I", 20) + b"WAVErubbish")
    _one_line(typed("check", path, rag), 1, "take.wav")


def test_a_text_take_with_words_names_the_line(typed: Typed, rag: Path) -> None:
    """A text file of something else."""
    path = rag.parent / "take.txt"
    path.write_text("0.5\nhello\n", encoding="utf-8")
    _one_line(typed("check", path, rag), 1, "take.txt, line 2")


def test_a_report_must_be_a_page(typed: Typed, rag: Path) -> None:
    """And its folder must be there, before anything long is done."""
    path = rag.parent / "take.txt"
    path.write_text("0.5\n1.0\n", encoding="utf-8")
    _one_line(typed("check", path, rag, "--report", "x.pdf"), 2, "heard.html")
    _one_line(typed("check", path, rag, "--report", "gone/x.html"), 1, "does not exist")


def test_a_take_of_another_piece_is_told_gently_and_not_judged(typed: Typed, rag: Path) -> None:
    """The answer says so and asks what was practised; a script sees it from the exit code."""
    times = np.cumsum(np.tile([0.31, 0.31, 0.93, 0.155, 0.62], 12))
    path = rag.parent / "take.txt"
    path.write_text("\n".join(map(str, times)), encoding="utf-8")
    code, out, err = typed("check", path, rag)
    assert code == 1
    assert err.count("\n") == 1
    assert "take.txt: This does not sound like Kitchen rag" in err
    assert "This does not sound like Kitchen rag" in " ".join(out.split())
