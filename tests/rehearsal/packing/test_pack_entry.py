"""An entry course as files: what sounds in each try, where it begins, and its answer."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.coach.ladder import ladder
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.rehearsal.entering.one_try import Goal
from rhythmtrain.rehearsal.packing.entry import EntryTrack, course_tracks, entry_goal, entry_plan
from rhythmtrain.rehearsal.packing.pack import make_pack
from rhythmtrain.rehearsal.packing.parcels import parcels_of
from rhythmtrain.rehearsal.packing.recorded import Beside
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.passages.passages import whole_passage
from rhythmtrain.storage.sounds import load_words

RATE = 22_050
LATE_ENTRY = """title = "Ferry Song"
metre = "2/4"
tempo = 60
rhythm = "1 2 | 1 (2) | rest 8 | (1) & 2 | 1 2 | 1 (2)"
"""
RECORDED = '[accompaniment]\nrecording = "piano.wav"\nbeats = "piano.beats"\n'


def course(goal: Goal, *, recorded: bool = False) -> list[EntryTrack]:
    """Return the tries at three tempi."""
    return list(course_tracks(goal, ladder(goal.passage.tempo, rungs=3), "ogg", recorded=recorded))


def drill(folder: Path, more: str = "") -> Path:
    """Return a drill whose entry is in bar 11, on the and of 1."""
    path = folder / "ferry.toml"
    path.write_text(LATE_ENTRY + more, encoding="utf-8")
    return path


@pytest.fixture
def recorded(tmp_path: Path) -> Path:
    """Return a drill whose recording is mapped in bars 7 to 12 only, with a stroke on each beat."""
    times = 20 + np.cumsum([0.0, 0.6, 0.7, 0.55, 0.6, 0.65, 0.5, 0.6, 0.7, 0.6, 0.62, 0.58])
    n = np.arange(30 * RATE) / RATE
    sound = np.zeros(n.size)
    for second in times:
        since = (n - second).clip(0)
        sound += 0.3 * (n >= second) * np.exp(-since / 0.15) * np.sin(2 * np.pi * 330 * since)
    soundfile.write(tmp_path / "piano.wav", sound, RATE)
    lines = [f"{at:.3f}\t{7 + beat // 2}.{1 + beat % 2}" for beat, at in enumerate(times)]
    (tmp_path / "piano.beats").write_text("\n".join(lines), encoding="utf-8")
    return drill(tmp_path, RECORDED)


def entry_s(plan: Plan) -> float:
    """Return the second at which one comes in."""
    return plan.entries_s[-1]


def test_help_thins_from_everything_to_none_at_each_of_three_tempi() -> None:
    """The last track of a tempo has nobody's help, and begins at the top."""
    goal = entry_goal(whole_passage("towpath-entry"), None, None)
    tracks = course(goal)
    assert len(tracks) == 15
    assert [each.tried.help for each in tracks] == [0, 1, 2, 3, 4] * 3
    assert [each.tried.from_top for each in tracks] == ([False] * 4 + [True]) * 3
    assert len({each.tempo for each in tracks}) == 3


def test_the_lead_in_is_another_in_every_track() -> None:
    """Who always starts two bars before learns two bars of counting."""
    tracks = course(entry_goal(whole_passage("towpath-entry"), None, None))
    leads = [each.tried.lead for each in tracks]
    assert set(leads) == {2, 4, 8, 10}
    assert all(one != next_ for one, next_ in pairwise(leads))


def test_names_sort_in_order_and_say_help_and_bar() -> None:
    """A phone's own player plays a try, then its answer."""
    tracks = course(entry_goal(whole_passage("towpath-entry"), None, None))
    files = [name for each in tracks for name in (each.file, each.answer)]
    assert files == sorted(files)
    assert len(set(files)) == 30
    assert files[8:10] == ["09-no-help-from-bar-1-36.ogg", "10-answer-from-bar-1-36.ogg"]


def test_nothing_is_spoken_on_the_entry() -> None:
    """A word there would hide the note that is to be played."""
    goal = entry_goal(whole_passage("towpath-entry"), None, None)
    for track in course(goal):
        plan, _ = entry_plan(track, None)
        words = [each for each in plan.prompts if each.layer is Layer.COUNT]
        lengths = load_words("en", {each.text for each in words}, rate=24_000)
        for word in words:
            sound, beat_point_s = lengths[word.text]
            begin = word.time_s - beat_point_s
            end = begin + len(sound) / 24_000
            assert not begin <= entry_s(plan) < end, (track.file, word)


def test_each_step_gives_less_help_before_the_entry() -> None:
    """Words go first, the click next, the preparation last; the cue stays."""
    goal = entry_goal(whole_passage("towpath-entry"), None, None)
    told = []
    for track in course(goal)[:5]:
        plan, _ = entry_plan(track, None)
        inside = [each for each in plan.prompts if each.time_s > plan.count_in_s - 0.01]
        assert any(each.layer is Layer.CUE for each in inside)
        told.append(
            (
                any(each.layer is Layer.CLICK for each in inside),
                any(each.text == "breathe" for each in inside),
                any(each.text.isdigit() and each.layer is Layer.COUNT for each in inside),
            )
        )
    assert told == [
        (True, True, True), (True, True, True), (True, True, False), (False, True, False),
        (False, False, False),
    ]  # fmt: skip


def test_the_answer_is_the_same_track_with_claps_from_the_entry_on() -> None:
    """One hears whether one came in where it is, however little help there was."""
    goal = entry_goal(whole_passage("towpath-entry"), None, None)
    for track in course(goal):
        plan, _ = entry_plan(track, None)
        answer, _ = entry_plan(track, None, answer=True)
        claps = [each for each in answer.prompts if each.layer is Layer.CLAP]
        assert (
            tuple(each for each in answer.prompts if each.layer is not Layer.CLAP) == plan.prompts
        )
        assert claps[0].time_s == pytest.approx(entry_s(plan), abs=1e-9)
        assert (claps[0].bar, claps[0].count) == (goal.entry.bar, goal.entry.count)
        assert len(claps) == 10


def test_without_cue_or_recording_the_click_stays(tmp_path: Path) -> None:
    """Nobody can come in on silence."""
    goal = entry_goal(whole_passage(str(drill(tmp_path))), None, None)
    tracks = course(goal)
    assert [each.help.name for each in tracks][3] == "no help but the click"
    plan, _ = entry_plan(tracks[3], None)
    assert sum(each.layer is Layer.CLICK for each in plan.prompts) >= 2 * 13


def test_a_map_of_the_few_bars_before_the_entry_is_enough(recorded: Path) -> None:
    """The tracks keep to the mapped bars; the answer claps where the accompanist is."""
    whole = whole_passage(str(recorded))
    beside = Beside(str(recorded), whole)
    goal = entry_goal(whole, None, beside)
    tracks = course(goal, recorded=True)
    assert {each.begins for each in tracks} == {7, 9}
    for track in tracks:
        plan, pieces = entry_plan(track, beside, answer=True)
        (piece,) = pieces
        claps = [each for each in plan.prompts if each.layer is Layer.CLAP]
        # Half of the beat from bar 11, beat 1 (at 24.9 s) to beat 2 (at 25.5 s) of the recording.
        recorded_s, track_s = np.array(piece.laid.anchors).T
        expected = float(np.interp(25.2, recorded_s, track_s))
        assert claps[0].time_s == pytest.approx(expected, abs=0.005)
        assert (claps[0].bar, claps[0].count) == (11, "1&")
        assert not any(each.layer is Layer.CUE for each in plan.prompts)


def test_a_map_that_does_not_reach_the_entry_says_what_to_map(recorded: Path) -> None:
    """With the bars to type."""
    (recorded.parent / "piano.beats").write_text(
        "\n".join(f"{20 + beat * 0.6:.2f}\t{3 + beat // 2}.{1 + beat % 2}" for beat in range(8)),
        encoding="utf-8",
    )
    with pytest.raises(
        RequestError, match=r"holds bars 3-6, and the entry is in bar 11.*map-bars.7.11"
    ):
        entry_goal(whole := whole_passage(str(recorded)), None, Beside(str(recorded), whole))


def test_a_course_is_written_whole_and_what_fails_is_told(recorded: Path) -> None:
    """Files, page and document agree; a drill with no entry stops nothing."""
    plain = recorded.parent / "plain.toml"
    plain.write_text('title = "No rest"\nmetre = "2/4"\ntempo = 60\nrhythm = "1 2"\n')
    out = recorded.parent / "out"
    wish = PackWish((str(recorded), str(plain)), rungs=1, ending="ogg", entry=True)
    told = make_pack(wish, out)
    (part,) = told.document["passages"]
    assert part["entry"] == {"bar": 11, "count": "1&"}
    assert [name for each in part["tries"] for name in (each["file"], each["answer"])] == part[
        "files"
    ]
    assert sorted(each.name for each in (out / "ferry").iterdir()) == part["files"]
    assert "No rest has no entry" in told.failure
    page = (out / "index.html").read_text(encoding="utf-8")
    assert all(name in page for name in part["files"])
    assert "recorded at quarter = 9" in page
    tried, answer = (soundfile.read(out / "ferry" / name)[0] for name in part["files"][-2:])
    assert np.sqrt(np.mean(tried**2)) > 0.01
    assert abs(len(tried) - len(answer)) < 44_100


def test_layers_are_not_for_a_course(tmp_path: Path) -> None:
    """The help decides what sounds."""
    with pytest.raises(RequestError, match=r"layers. is for a ladder"):
        make_pack(PackWish(("towpath-entry",), entry=True, layers="clap"), tmp_path)


CUED = 'cue = "1 2 | 1 | rest 1 | 1 2 | 1 | 1 & 2 | 1 | 1 2 | 1 | 1 & 2 | 1 2 | 1 | 1"\n'


def test_the_page_says_what_one_waits_for(tmp_path: Path) -> None:
    """On paper as at the keyboard: the figure before the entry, and that it comes earlier too."""
    wish = PackWish((str(drill(tmp_path, CUED)),), rungs=1, entry=True)
    (parcel,), _ = parcels_of([tmp_path / "ferry.toml"], wish, {})
    first, second = parcel.cue
    assert first.startswith(
        "Before it the accompanist plays two quarter notes; you come in on the and"
    )
    assert second.startswith("Earlier the same cue leads to bar 7: count the bars")


def test_the_page_says_nothing_of_a_cue_that_nobody_wrote(tmp_path: Path) -> None:
    """Rather than something that may be wrong."""
    wish = PackWish((str(drill(tmp_path)),), rungs=1, entry=True)
    (parcel,), _ = parcels_of([tmp_path / "ferry.toml"], wish, {})
    assert parcel.cue == ()
