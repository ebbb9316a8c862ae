"""The cue of a score: whose line it is, and how the player reads it."""

from pathlib import Path

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from rhythmtrain.rehearsal.passages.passages import whole_passage
from rhythmtrain.score.cue_part import CueLine, CuePart, cue_part_of
from rhythmtrain.score.passage import notes_of
from tests.simulate.musicxml_text import attributes, note, part_of, rest, score

IN_BB = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
CLARINET = part_of(
    attributes(2, "2/4", IN_BB) + note("D5", 2) + note("E5", 2),
    rest(4, whole=True),
    rest(3) + note("D5", 1),
    note("E5", 4),
)
UPPER, LOWER = "<staff>1</staff>", "<staff>2</staff>"
BACK = "<backup><duration>4</duration></backup>"


def bar_of_piano(*upper: str, low: str, more: str = "") -> str:
    """Return a bar of two staves: what the right hand plays, and two quarters of the left."""
    left = note(low, 2, LOWER) + note(low, 2, LOWER)
    return more + "".join(upper) + BACK + left


PIANO = part_of(
    bar_of_piano(note("F4", 4, UPPER), low="F2", more=attributes(2, "2/4", "<staves>2</staves>")),
    bar_of_piano(
        note("C5", 1, UPPER),
        note("A4", 1, "<chord/>", UPPER),
        note("D5", 1, UPPER),
        note("E5", 2, UPPER),
        low="C3",
    ),
    bar_of_piano(note("F5", 2, UPPER), note("E5", 2, UPPER), low="A2"),
    bar_of_piano(note("F5", 4, UPPER), low="F2"),
)


@pytest.fixture
def duo(tmp_path: Path) -> Path:
    """Return a score for a clarinet in B flat and piano, with an entry on the and of 2 in bar 3."""
    path = tmp_path / "duo.musicxml"
    path.write_bytes(score(CLARINET, PIANO, names=("Clarinet in Bb", "Piano")))
    return path


@pytest.mark.parametrize(
    ("cue_part", "line", "row"),
    [
        ("Piano", "three quarter notes going up and down again", "bar 3 | 1 G5  2 F#5"),
        ("2:lower", "four quarter notes", "bar 3 | 1 B2  2 B2"),
        ("Piano:all", "three quarter notes going up and down again", "1 B2+G5  2 B2+F#5"),
    ],
)
def test_a_line_of_the_accompanist_in_the_key_the_player_reads(
    duo: Path, cue_part: str, line: str, row: str
) -> None:
    """A clarinettist reads a tone higher than it sounds; a bass line is waited for as well as a tune."""
    told = tell_cue(CueWish(str(duo), cue_part=cue_part))
    first, *_ = told.text.splitlines()
    assert first.startswith(f"Bar 3: {line}; you come in on the and of 2")
    assert row in told.text
    assert "from the accompanist's notes, written as you would read it:" in told.text
    assert told.document["notes"][-1]["written"] == told.document["notes"][-1]["pitch"] + 2


def test_the_last_note_is_told_as_long_as_it_is(duo: Path) -> None:
    """The piano's last quarter is not over when the clarinet comes in."""
    told = tell_cue(CueWish(str(duo), cue_part="Piano"))
    assert "on the and of 2, half a beat after the last note begins" in told.text


def test_a_voice_that_is_asked_for_counts_for_a_score_too(duo: Path) -> None:
    """As it does for the accompanist's notes in a file of their own."""
    named = tell_cue(CueWish(str(duo), cue_part="Piano:lower")).text
    assert tell_cue(CueWish(str(duo), cue_part="Piano", voice="lower")).text == named


@pytest.mark.parametrize(
    ("cue_part", "pitches"),
    [
        ("Piano", [(72,), (74,), (76,), (77,), (76,)]),
        ("Piano:lower", [(48,), (48,), (45,), (45,)]),
        ("Piano:all", [(48, 69, 72), (74,), (48, 76), (45, 77), (45, 76)]),
    ],
)
def test_every_track_and_sheet_has_the_cue_that_was_asked_for(
    duo: Path, cue_part: str, pitches: list[tuple[int, ...]]
) -> None:
    """The bass alone, or both hands, as they sound."""
    passage = whole_passage(str(duo), cue_part=cue_part)
    found = [each.pitches for each in notes_of(passage.cue) if each.bar in (2, 3)]
    assert found == pitches


def test_what_follows_a_colon_is_a_line_or_part_of_the_name() -> None:
    """Some scores have colons in the names of their parts."""
    assert cue_part_of("Piano: lower") == CuePart("Piano", CueLine.LOWER)
    assert cue_part_of("Band 2: Piano") == CuePart("Band 2: Piano")
    assert cue_part_of(":lower") == CuePart(":lower")


def test_a_part_that_is_none_is_said_with_those_there_are(duo: Path) -> None:
    """With their numbers, which are quicker typed."""
    with pytest.raises(RequestError, match=r"no part 'Harp': say its name or number, one of 1 Cl"):
        tell_cue(CueWish(str(duo), cue_part="Harp:lower"))
