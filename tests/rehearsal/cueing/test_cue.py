"""``rhythmtrain cue``: what is played before the entry."""

from pathlib import Path

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from tests.simulate.midi_bytes import midi, note, track

DRILL = """
title = "Mill Stream"
metre = "2/4"
tempo = 72
rhythm = "1 2 | rest 2 | (1) (&) 2 & | rest 1 | 1 2"
{more}
"""
CUE = 'cue = "rest 1 | 1 2 | 1 & 2 & | 1 & (2) | 1 2 | rest 1"'
BESIDE = '[accompaniment]\nnotes = "piano.mid"'


def drill(folder: Path, more: str = "") -> str:
    """Return the path of a drill with entries in bars 4 and 6."""
    path = folder / "mill.toml"
    path.write_text(DRILL.format(more=more), encoding="utf-8")
    return str(path)


def piano(folder: Path) -> Path:
    """Return a MIDI file: eighths down to bar 4, a bass under them."""
    keys = (76, 74, 72, 71)
    down = b"".join(note(key, length=240) for key in keys * 4)
    bass = b"".join(note(40, length=960, channel=0) for _ in range(4))
    metre = b"\x00\xff\x58\x04\x02\x02\x18\x08"
    path = folder / "piano.mid"
    path.write_bytes(midi([track(metre + down), track(bass)]))
    return path


def test_the_cue_line_is_told_in_words_and_counts(tmp_path: Path) -> None:
    """What to listen for, where it stands, and when to come in."""
    told = tell_cue(CueWish(drill(tmp_path, CUE)))
    assert told.text.splitlines() == [
        "Bar 4: six eighth notes; you come in on beat 2.",
        "What is played in bars 2 to 4, from the cue line:",
        "     bar 2 | 1  2",
        "     bar 3 | 1  1&  2  2&",
        "     bar 4 | 1  1&",
    ]
    assert told.document["from"] == "cue line"
    assert told.document["entry"] == {"bar": 4, "count": "2"}
    assert told.document["notes"][-1] == {
        "bar": 4,
        "count": "1&",
        "onset": "13/2",
        "length": "1/2",
        "pitch": None,
        "written": None,
    }


def test_another_entry_and_one_bar_before_it(tmp_path: Path) -> None:
    """A clarinettist practises the second entry."""
    told = tell_cue(CueWish(drill(tmp_path, CUE), entry=6, bars_before=1))
    assert told.document["words"] == "two quarter notes; you come in on beat 1"
    assert {each["bar"] for each in told.document["notes"]} == {5}


@pytest.mark.parametrize(
    ("voice", "words", "pitches"),
    [
        ("top", "six eighth notes; you come in on beat 2", [76, 74, 72, 71, 76, 74]),
        (
            "lower",
            "two half notes on one pitch; you come in on beat 2, one beat after the last note begins",
            [40, 40],
        ),
    ],
)
def test_the_accompanists_notes_beside_the_drill(
    tmp_path: Path, voice: str, words: str, pitches: list[int]
) -> None:
    """The right hand is what one hears first; the left on request."""
    piano(tmp_path)
    told = tell_cue(CueWish(drill(tmp_path, BESIDE), voice=voice, bars_before=1))
    assert told.document["from"] == "notes"
    assert told.document["words"] == words
    assert [each["pitch"] for each in told.document["notes"]] == pitches


def test_notes_that_are_given_come_before_the_cue_line(tmp_path: Path) -> None:
    """Who asks for a file means it."""
    told = tell_cue(CueWish(drill(tmp_path, CUE), notes=piano(tmp_path)))
    assert told.document["from"] == "notes"
    assert "bar 4 | 1 E5  1& D5" in told.text


@pytest.mark.parametrize(
    ("more", "wish", "match"),
    [
        ("", {}, "nothing is known of what is played before bar 4 .*give-a-cue"),
        (CUE, {"entry": 3}, "no entry in bar 3: entries are in bars 4 and 6"),
        (CUE, {"bars": "1-2"}, "bars 1-2 of .* has no entry"),
        (CUE, {"bars_before": 3}, "bars before must be 1 or 2, got 3"),
        (CUE, {"speed": 0.5}, "are for the sound.where-it-goes"),
        (CUE, {"beats": Path("piano.beats")}, "piano.beats is the map of no recording"),
        (CUE, {"notes": Path("piano.pdf")}, "notes. must be MusicXML or MIDI"),
    ],
)
def test_what_cannot_be_told_is_one_sentence(
    tmp_path: Path, more: str, wish: dict[str, object], match: str
) -> None:
    """Each says what to give instead."""
    with pytest.raises(RequestError, match=match):
        tell_cue(CueWish(drill(tmp_path, more), **wish))  # type: ignore[arg-type]
