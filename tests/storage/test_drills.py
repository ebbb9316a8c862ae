"""The drill cupboard: supplied drills and drill files."""

import os
from pathlib import Path

import pytest

from rhythmtrain.errors import DrillError, FileError, RequestError
from rhythmtrain.score.difficulty.hard import Cause, hard_spots
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.score.drill.writer import write_drill
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.storage import drills
from rhythmtrain.storage.drills import ShippedDrill, beside, load_drill, shipped_drills
from rhythmtrain.timing.timeline import lay_out

SHIPPED = shipped_drills()
NAMES = [drill.name for drill in SHIPPED]
# The drill that has one cause of difficulty and no other.
ALONE = {
    "off-beats": Cause.OFF_BEAT,
    "tie-over-the-beat": Cause.OVER_BEAT,
    "tie-over-the-bar-line": Cause.OVER_BAR,
    "triplets-beside-eighths": Cause.SUBDIVISION,
    "fast-sixteenths": Cause.FAST,
    "five-in-groups": Cause.UNEQUAL,
}


def _passage(name: str) -> Passage:
    passage = load_drill(name).passage
    assert passage is not None
    return passage


def test_there_are_drills_enough_in_one_order() -> None:
    """A beginner starts at the first and a band player further down."""
    assert len(SHIPPED) >= 26
    assert sorted(NAMES) == NAMES
    assert [drill.level for drill in SHIPPED] == list(range(1, len(SHIPPED) + 1))
    assert len({drill.title for drill in SHIPPED}) == len(SHIPPED)
    assert len({drill.about for drill in SHIPPED}) == len(SHIPPED)


@pytest.mark.parametrize("shipped", SHIPPED, ids=NAMES)
def test_every_supplied_drill_reads_writes_and_lasts_a_reasonable_time(
    shipped: ShippedDrill,
) -> None:
    """Each has a title, a line on what it trains, a tune, and 10 to 90 seconds to play."""
    drill = load_drill(shipped.name)
    passage = _passage(shipped.name)
    assert shipped.title
    assert 20 <= len(shipped.about) <= 100
    assert drill.hints == ()
    assert all(note.pitches for note in notes_of(passage.bars))
    assert read_drill(write_drill(passage), name="again.toml").passage == passage
    timeline = lay_out(passage)
    lasts_s = timeline.seconds(timeline.stop) - timeline.seconds(timeline.start)
    assert 10 <= lasts_s <= 90


@pytest.mark.parametrize(("name", "cause"), ALONE.items())
def test_each_cause_of_difficulty_has_a_drill_of_its_own(name: str, cause: Cause) -> None:
    """One thing is practised at a time."""
    found = {each for spot in hard_spots(_passage(name)) for each in spot.causes}
    assert found == {cause}


def test_the_first_drills_have_nothing_hard_in_them() -> None:
    """Whoever begins is not tripped up."""
    assert all(not hard_spots(_passage(name)) for name in NAMES[:9])


def test_the_entry_drill_asks_for_an_entry_off_the_beat_after_a_long_rest() -> None:
    """The entry to practise, with the piano's rhythm before it and a word to breathe."""
    passage = _passage("towpath-entry")
    (entry,) = lay_out(passage).entries
    assert (entry.entry.bar, entry.entry.count, entry.entry.word) == (11, "2&", "breathe")
    assert entry.entry.rest_bars == 8
    assert len(notes_of(passage.cue)) > 20


def test_a_supplied_drill_is_found_by_either_name() -> None:
    """Nobody remembers the number."""
    assert load_drill("29-towpath-rag") == load_drill("towpath-rag")
    assert load_drill("towpath-rag.toml") == load_drill("towpath-rag")


def test_a_supplied_drill_that_was_changed_is_told_as_it_is_now(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They are read once, not at each look; whoever writes one still sees what they wrote."""
    monkeypatch.setattr(drills, "drills_folder", lambda: tmp_path)
    file = tmp_path / "01-mine.toml"
    for number, title in enumerate(("Before", "After")):
        file.write_text(f'title = "{title}"\nmetre = "2/4"\ntempo = 72\nrhythm = "1 2"\n')
        os.utime(file, ns=(number, number))
        for _ in range(2):
            (mine,) = drills.shipped_drills()
            assert (mine.name, mine.title, mine.level) == ("01-mine", title, 1)


def test_a_drill_file_is_read_from_its_path(tmp_path: Path) -> None:
    """One's own drills work like the supplied ones, also with a byte order mark."""
    path = tmp_path / "evening.toml"
    path.write_text('metre = "2/4"\ntempo = 60\nrhythm = "1 2"', encoding="utf-8-sig")
    assert load_drill(str(path)).title == "evening"


@pytest.mark.parametrize(
    ("name", "error", "words"),
    [
        ("towpath-rug", RequestError, "did you mean 'towpath-rag'"),
        ("Towpath-Rag", RequestError, "did you mean 'towpath-rag'"),
        ("Morning Walk", RequestError, "did you mean 'steady-quarters'"),
        ("morning-walk", RequestError, "did you mean 'steady-quarters'"),
        ("qqqqq", RequestError, "list-drills"),
        ("nowhere/x.toml", FileError, "there is no file 'nowhere/x.toml'"),
        ("nofile.toml", FileError, "there is no file 'nofile.toml'"),
        ("a\u0000b", RequestError, "no file and no supplied drill"),
        ("x" * 5000, RequestError, "no file and no supplied drill"),
    ],
)
def test_a_name_that_leads_nowhere_gets_the_nearest_one(
    name: str, error: type[Exception], words: str
) -> None:
    """A typing error costs one look."""
    with pytest.raises(error, match=words):
        load_drill(name)


def test_a_file_that_is_no_drill_is_named(tmp_path: Path) -> None:
    """A recording given by mistake, or a file in an old encoding."""
    path = tmp_path / "x.toml"
    path.write_bytes(b'title = "ok"\nabout = "\xe9t\xe9"')
    with pytest.raises(DrillError, match=r"x\.toml:2: this is not text in UTF-8"):
        load_drill(str(path))
    path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(FileError, match="larger than 1 MB"):
        load_drill(str(path))
    path.write_bytes(b"")
    with pytest.raises(DrillError, match=r"x\.toml: a drill wants a rhythm"):
        load_drill(str(path))


def test_a_recording_in_the_place_of_a_passage_is_told_from_a_text_that_was_saved_otherwise(
    tmp_path: Path,
) -> None:
    """Who types recording and passage in the other order need not save a recording as text."""
    sound = tmp_path / "take.wav"
    sound.write_bytes(b"RIFF\x00\x00\x00\x00WAVE")
    with pytest.raises(FileError, match=r"take\.wav is no text: .* named before the passage"):
        load_drill(str(sound))
    old = tmp_path / "old.toml"
    old.write_text('title = "Old"', encoding="utf-16")
    with pytest.raises(DrillError, match=r"old\.toml:1: this is not text in UTF-8"):
        load_drill(str(old))


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_is_named(tmp_path: Path) -> None:
    """A file of somebody else's is their business, said in one sentence."""
    path = tmp_path / "x.toml"
    path.write_text("", encoding="utf-8")
    path.chmod(0)
    with pytest.raises(FileError, match=r"x\.toml cannot be read"):
        load_drill(str(path))


def test_a_drills_own_files_stand_beside_it(tmp_path: Path) -> None:
    """A link out of the folder is no way round."""
    folder = tmp_path / "drill"
    folder.mkdir()
    drill = folder / "x.toml"
    (tmp_path / "secret.wav").write_bytes(b"")
    (folder / "near.wav").write_bytes(b"")
    (folder / "far.wav").symlink_to(tmp_path / "secret.wav")
    assert beside(drill, "near.wav") == (folder / "near.wav").resolve()
    with pytest.raises(FileError, match="leads out of the drill's folder"):
        beside(drill, "far.wav")
    with pytest.raises(FileError, match="there is no such file beside it"):
        beside(drill, "none.wav")
