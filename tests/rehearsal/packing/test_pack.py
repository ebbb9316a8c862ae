"""Packing: what a teacher finds in the folder, also when a drill is broken or packed twice."""

from dataclasses import replace
from pathlib import Path
from urllib.parse import unquote

import numpy as np
import pytest
import soundfile

from rhythmtrain.coach.practice_order import Step
from rhythmtrain.errors import DrillError, FileError, RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.packing.files import HANDED_OUT
from rhythmtrain.rehearsal.packing.pack import make_pack
from rhythmtrain.rehearsal.packing.tracks import PackTrack, pack_plan
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.rehearsal.tracks.sound import write_track
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.units import Bpm

GOOD = 'title = "Two bars"\nmetre = "2/4"\ntempo = 200\nrhythm = "1 & 2 | 1 (2)"\n'
BROKEN = GOOD.replace("1 (2)", "1 (3)")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a teacher's desk: two folders of drills, one name twice, one drill broken."""
    desk = tmp_path_factory.mktemp("desk")
    for name, text in {
        "spring/rag.toml": GOOD,
        "spring/aux.toml": GOOD.replace("Two bars", "Aux <b>"),
        "spring/broken.toml": BROKEN,
        "spring/notes.txt": "not a drill",
        "autumn/Rag.toml": GOOD.replace("200", "220"),
    }.items():
        path = desk / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return desk


@pytest.fixture(scope="module")
def told(desk: Path) -> Told:
    """Return what is told of a pack of both folders, one of them named twice over."""
    asked = (str(desk / "spring"), str(desk / "autumn"), str(desk / "spring" / "rag.toml"))
    wish = PackWish((*asked, "no-such-drill"), rungs=2, ending="ogg")
    return make_pack(wish, desk / "out")


def names(folder: Path) -> list[str]:
    """Return the names in a folder, sorted."""
    return sorted(path.name for path in folder.iterdir())


def test_every_drill_gets_its_folder_once(desk: Path, told: Told) -> None:
    """A name that Windows refuses or that is taken is changed, and a drill named twice is one."""
    assert names(desk / "out") == ["Rag-2", "index.html", "rag", "sheet.pdf", "the aux"]
    assert [each["name"] for each in told.document["passages"]] == ["aux", "rag", "Rag"]
    assert [Path(each["folder"]).name for each in told.document["passages"]] == [
        "the aux", "rag", "Rag-2",
    ]  # fmt: skip


def test_a_taken_name_is_spoken_of(told: Told) -> None:
    """A teacher must know which of two drills of one name is which."""
    assert any("the name Rag is taken already" in warning for warning in told.warnings)
    assert any("the folder Rag-2" in warning for warning in told.warnings)


def test_the_files_are_those_told_and_sort_in_practice_order(desk: Path, told: Told) -> None:
    """What is told is there, readable, and in the order to practise."""
    for each in told.document["passages"]:
        assert sorted(each["files"]) == each["files"]
        assert names(Path(each["folder"])) == each["files"]
        sound = [name for name in each["files"] if name.endswith(".ogg")]
        steps = [name.split("-", 1)[1].rsplit("-", 1)[0] for name in sound]
        assert steps == ["listen", "echo", "with-help", "alone", "with-help", "alone"]
        assert len(each["files"]) == len(sound) + len(each["tempi"])
    info = soundfile.info(desk / "out" / "rag" / "01-listen-100.ogg")
    assert info.channels == 1
    assert info.duration == pytest.approx((1 + 2 * 2) * 2 * 60 / 100, abs=0.5)
    assert (desk / "out" / "rag" / "midi-100.mid").read_bytes()[:4] == b"MThd"


def test_a_failure_is_told_at_the_end_and_stops_nothing(desk: Path, told: Told) -> None:
    """One slip in one drill of a class must not cost the others their tracks."""
    failed = {each["passage"]: each["why"] for each in told.document["failed"]}
    broken = str(desk / "spring" / "broken.toml")
    assert set(failed) == {broken, "no-such-drill"}
    assert "broken.toml:4" in failed[broken]
    assert told.failure.startswith("2 of 5 could not be made: ")
    assert failed[broken] in told.failure
    assert len(told.document["passages"]) == 3


def test_the_page_plays_what_is_there(desk: Path, told: Told) -> None:
    """Every track that the page names is beside it."""
    page = (desk / "out" / "index.html").read_text(encoding="utf-8")
    assert told.document["page"] == str(desk / "out" / "index.html")
    linked = [
        unquote(part.split('"')[0])
        for part in page.split("<audio")[1:]
        for part in part.split('src="')[1:2]
    ]
    assert len(linked) == 3 * 6
    assert all((desk / "out" / name).is_file() for name in linked)
    assert "Aux &lt;b&gt;" in page


def test_a_stroke_keeps_its_place_and_its_sharp_beginning_in_mp3(tmp_path: Path) -> None:
    """A smaller file must not blur the beat: what sounds before a stroke is 35 dB softer."""
    passage = read_drill(GOOD, name="rag.toml").passage
    assert passage is not None
    plan = pack_plan(passage, PackTrack(Step.WITH_HELP, Bpm(100.0), "x"))
    strokes = tuple(each for each in plan.prompts if each.layer is Layer.CLICK)
    path = tmp_path / "clicks.mp3"
    write_track(replace(plan, prompts=strokes), path, quality=HANDED_OUT)
    sound, rate = soundfile.read(path)
    before, after = round(0.012 * rate), round(0.03 * rate)
    for stroke in strokes[1:]:
        at = round(stroke.time_s * rate)
        peak = np.abs(sound[at : at + after]).max()
        assert peak > 0.1
        assert np.abs(sound[at - before : at - round(0.001 * rate)]).max() < peak * 10 ** (-35 / 20)


def test_the_text_says_what_to_open(desk: Path, told: Told) -> None:
    """The ladder in one readable row, and the next thing to do."""
    assert "rag      quarter = 100 200" in told.text
    assert f"Open {desk / 'out' / 'index.html'} on any phone" in told.text


def test_packing_again_writes_over_its_own_files_and_leaves_others(desk: Path) -> None:
    """A corrected drill is packed again; what else a teacher keeps there stays."""
    out = desk / "again"
    wish = PackWish((str(desk / "spring" / "rag.toml"),), rungs=1, ending="wav")
    first = make_pack(wish, out)
    assert [Path(each["folder"]).name for each in first.document["passages"]] == ["rag"]
    (out / "rag" / "notes.txt").write_text("mine")
    track = out / "rag" / "01-listen-200.wav"
    track.write_bytes(b"spoilt")
    second = make_pack(wish, out)
    assert second.files == first.files
    assert track.read_bytes()[:4] == b"RIFF"
    assert (out / "rag" / "notes.txt").read_text() == "mine"
    assert names(out) == ["index.html", "rag", "sheet.pdf"]


def test_a_pack_that_is_stopped_leaves_the_older_one_as_it_was(desk: Path) -> None:
    """Ctrl-C in the middle leaves nothing half-written and nothing hidden."""
    out = desk / "stopped"
    (out / "rag").mkdir(parents=True)
    (out / "rag" / "01-listen-100.wav").write_bytes(b"older")

    def stop(_done: float, _total: float, _what: str) -> None:
        raise KeyboardInterrupt

    wish = PackWish((str(desk / "spring" / "rag.toml"),), ending="wav")
    with pytest.raises(KeyboardInterrupt):
        make_pack(wish, out, progress=stop)
    assert names(out) == ["rag"]
    assert names(out / "rag") == ["01-listen-100.wav"]
    assert (out / "rag" / "01-listen-100.wav").read_bytes() == b"older"


def test_a_file_in_the_place_of_a_folder_fails_that_passage_alone(desk: Path) -> None:
    """What is not ours is never written over, and no page speaks of tracks that are not there."""
    out = desk / "blocked"
    out.mkdir()
    (out / "rag").write_text("mine")
    told = make_pack(PackWish((str(desk / "spring" / "rag.toml"),), rungs=1, ending="wav"), out)
    assert "1 of 1 could not be made" in told.failure
    assert told.text == "Nothing was made."
    assert names(out) == ["rag"]


def test_one_drill_that_does_not_read_is_refused_before_anything_is_written(desk: Path) -> None:
    """The message is the drill's own, with its line, and no empty folder is left."""
    with pytest.raises(DrillError, match=r"broken\.toml:4"):
        make_pack(PackWish((str(desk / "spring" / "broken.toml"),)), desk / "none")
    with pytest.raises(RequestError, match="no supplied drill called 'nothing-like-it'"):
        make_pack(PackWish(("nothing-like-it",)), desk / "none")
    with pytest.raises(FileError, match=r"there are no drill files \(.*\) and no scores"):
        make_pack(PackWish((str(desk),)), desk / "none")
    assert not (desk / "none").exists()


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (PackWish(("towpath-rag",), slowest=0), "slowest tempo must be 0.1 to 1"),
        (PackWish(("towpath-rag",), slowest=float("nan")), "slowest tempo must be 0.1 to 1"),
        (PackWish(("towpath-rag",), rungs=0), "at least one tempo"),
        (PackWish(("towpath-rag",), ending="aac"), "cannot write .aac"),
        (PackWish(("towpath-rag",), bars="x-y"), "bars must be written like"),
        (PackWish(("towpath-rag",), language="xx"), "no spoken language 'xx'"),
    ],
)
def test_a_wish_that_no_passage_could_meet_is_refused_at_once(
    wish: PackWish, words: str, tmp_path: Path
) -> None:
    """A wrong option is one sentence, not the same failure for every drill."""
    with pytest.raises(RequestError, match=words):
        make_pack(wish, tmp_path / "none")
    assert not (tmp_path / "none").exists()


def test_a_file_where_the_pack_should_go_is_refused(tmp_path: Path) -> None:
    """One clear sentence, and the file is kept."""
    (tmp_path / "mine").write_text("kept")
    with pytest.raises(FileError, match="mine is a file"):
        make_pack(PackWish(("towpath-rag",)), tmp_path / "mine")
    assert (tmp_path / "mine").read_text() == "kept"
