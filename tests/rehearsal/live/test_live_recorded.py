"""Coming in and clapping with a recorded accompaniment that breathes, on the shipped fakes."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.signal import correlate, resample_poly

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.entering.enter import practise_entry
from rhythmtrain.rehearsal.entering.one_try import Goal, goal_of, try_part, try_plan
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.dry_run import DELAY_S, Player, dry_delay, dry_rig
from rhythmtrain.rehearsal.live.live import Shown
from rhythmtrain.rehearsal.live.recorded import UnderTries, sounding_on
from rhythmtrain.rehearsal.live.stage import NoStage
from rhythmtrain.rehearsal.live.take import perform
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import RecordingFiles
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.timing.timeline import lay_out
from tests.rehearsal.watching import Watching
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
    monkeypatch.setattr("rhythmtrain.rehearsal.entering.enter.DRY_LATE_S", (late_s,))
    monkeypatch.setattr("rhythmtrain.rehearsal.entering.enter.DRY_PLAYER", Player(uneven_s=0.004))
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


def under(drill: Path, *, speed: float = 1.0) -> UnderTries:
    """Return the recording of ``drill`` for tries at ``speed``."""
    passage = find_passage(str(drill))
    return UnderTries(EnterWish(str(drill), speed=speed), passage, RecordingFiles())


def recorded_goal(drill: Path) -> Goal:
    """Return the entry of ``drill`` with its recording."""
    layers = frozenset({Layer.ACCOMPANIMENT, Layer.CLICK, Layer.COUNT})
    return goal_of(find_passage(str(drill)), None, layers)


def test_clicks_of_a_try_fall_where_the_pianist_plays_each_beat(
    drill: Path, breathing: Performed
) -> None:
    """From the counted bar of the recording on, whichever number of bars leads in."""
    goal, beats = recorded_goal(drill), breathing.piece.beats
    for lead in (2, 4, 8):
        part = try_part(goal, Try(lead, 0))
        found = under(drill, speed=0.5).under(part, lead_in=1)
        plan = try_plan(goal, Try(lead, 0), found.timeline)
        clicks = [each.time_s for each in plan.prompts if each.layer is Layer.CLICK]
        first = max((ENTRY_BAR - lead - 2) * beats, 0)
        played = 2 * (breathing.beats_s[first:] - breathing.beats_s[first])
        assert clicks == pytest.approx(list(played[: len(clicks)]), abs=0.001)
        assert len(clicks) == (1 + lead + 4) * beats


def test_the_recording_sounds_before_the_count_has_faded_and_after(drill: Path) -> None:
    """The last step of help is the pianist alone."""
    goal = recorded_goal(drill)
    assert goal.steps[-1].name == "no help"
    found = under(drill).under(try_part(goal, Try(2, 0)), lead_in=0)
    bare = Try(2, len(goal.steps) - 1)
    sounding = sounding_on(found, try_plan(goal, bare, found.timeline))
    assert sounding.recording is not None
    assert {each.layer for each in sounding.plan.prompts} == {Layer.ACCOMPANIMENT}
    seconds = [piece.anchors[-1][1] - piece.anchors[0][1] for piece in sounding.plan.laid]
    assert sum(seconds) == pytest.approx(sounding.plan.duration_s, abs=0.01)


def test_what_the_loudspeaker_gets_is_the_recording(drill: Path, breathing: Performed) -> None:
    """Heard through the fakes: the piano's own sound, from the bar where the try begins."""
    goal = recorded_goal(drill)
    found = under(drill).under(try_part(goal, Try(2, 0)), lead_in=0)
    plan = try_plan(goal, Try(2, len(goal.steps) - 1), found.timeline)
    rig = dry_rig(found.timeline, "mic", Player(silent=True, beside=0.5))
    shown = Shown(NoStage(), found.timeline)
    heard = perform(rig, sounding_on(found, plan), shown, known=dry_delay).gathered
    start = breathing.beats_s[(ENTRY_BAR - 3) * breathing.piece.beats]
    piano = resample_poly(breathing.sound[round(start * breathing.rate) :], 320, 147)[:96_000]
    same = correlate(heard.recorded[: 2 * rig.rate], piano, mode="full", method="fft")
    late_s = (int(np.argmax(same)) - len(piano) + 1) / rig.rate
    assert late_s == pytest.approx(DELAY_S, abs=0.001)
    at = round(late_s * rig.rate)
    played = heard.recorded[at : at + len(piano)]
    assert np.corrcoef(piano, played)[0, 1] > 0.9


def test_a_map_of_a_few_bars_is_enough(breathing: Performed, tmp_path: Path) -> None:
    """Five minutes with a recording: no try begins where nothing is mapped."""
    path = drill_of(breathing, tmp_path, first=7, last=12)
    told = practise_entry(EnterWish(str(path), tries=2, dry_run=True))
    assert {each["lead_bars"] for each in told.document["tries"]} <= {2, 3}
    assert told.document["timing"] == "recording"
    assert any("recorded accompaniment plays" in line for line in told.warnings)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"layers": "clap,click"}, "clap would play your entry for you"),
        ({"layers": "click", "beats": Path("a.beats")}, "add accompaniment to .*layers"),
        ({"speed": 0.1}, "a recording can be played 0.3 to 1.5 times"),
        ({"entry": 3}, "there is no entry in bar 3"),
        ({"accompaniment": Path("gone.flac")}, "gone.flac"),
    ],
    ids=str,
)
def test_what_cannot_be_practised_so_is_refused(
    drill: Path, wish: dict[str, object], words: str
) -> None:
    """One sentence, before anything sounds."""
    with pytest.raises(RhythmtrainError, match=words):
        practise_entry(EnterWish(str(drill), dry_run=True, **wish))  # type: ignore[arg-type]


def test_an_entry_that_is_not_mapped_is_refused(breathing: Performed, tmp_path: Path) -> None:
    """With the bars that are wanted."""
    path = drill_of(breathing, tmp_path, first=2, last=8)
    with pytest.raises(RequestError, match="holds bars 2 to 8, and the entry to practise is in"):
        practise_entry(EnterWish(str(path), dry_run=True))


def test_a_recording_given_for_a_drill_that_names_none(drill: Path) -> None:
    """And what to type next names it again."""
    bare = drill.with_name("bare.toml")
    bare.write_text(drill.read_text(encoding="utf-8").split("[acc")[0], encoding="utf-8")
    piano, beats = drill.with_name("piano.wav"), drill.with_name("piano.beats")
    wish = EnterWish(str(bare), tries=1, dry_run=True, accompaniment=piano, beats=beats)
    told = practise_entry(wish)
    assert told.document["timing"] == "recording"
    assert "--accompaniment" in told.text
    with pytest.raises(RequestError, match=r"add .*accompaniment.FILE"):
        practise_entry(replace(wish, accompaniment=None))


def test_clapping_with_the_recording_is_heard_against_it(drill: Path) -> None:
    """At half speed too; all of the pianist's breathing is in what is expected."""
    wish = ClapWish(str(drill), layers="accompaniment,click,count", dry_run=True, bars="10-14")
    for speed in (1.0, 0.5):
        told = clap_along(replace(wish, speed=speed)).document
        assert told["timing"] == "recording"
        assert told["tally"]["missed"] == told["tally"]["extra"] == 0
        assert {each["verdict"] for each in told["notes"]} == {"in time"}
        assert {each["verdict"] for each in told["entries"]} <= {"in time"}


@pytest.mark.parametrize("speed", [1.0, 0.6])
def test_bars_heard_with_the_recording_are_answered_over_the_same_bars(
    drill: Path, speed: float
) -> None:
    """Only the answers are checked, against where the pianist plays them again."""
    wish = ClapWish(
        str(drill), layers="accompaniment,clap", dry_run=True, bars="10-13", echo=2, speed=speed
    )
    stage = Watching()
    told = clap_along(wish, stage).document
    assert told["timing"] == "recording"
    part = find_passage(str(drill), "10-13")
    assert told["tally"]["matched"] == len(lay_out(part).notes)
    assert told["tally"]["missed"] == told["tally"]["extra"] == 0
    assert {each["verdict"] for each in told["notes"]} == {"in time"}
    names = list(dict.fromkeys(screen[2].strip() for screen in stage.screens))
    assert names[1:5] == [
        "Bar 10, listen", "Bar 11, listen", "Bar 10, your answer", "Bar 11, your answer",
    ]  # fmt: skip


def test_a_loop_with_the_recording_goes_back_in_it_and_every_round_is_heard_against_it(
    drill: Path,
) -> None:
    """Its own bars before come between, at their own tempo, and there one reads what was heard."""
    stage = Watching()
    wish = ClapWish(
        str(drill), layers="accompaniment,click", dry_run=True, bars="10-11", loop=True, lead_in=1
    )
    told = clap_along(replace(wish, speed=0.8), stage).document
    assert told["timing"] == "recording"
    assert told["live"]["ended"] == "stopped"
    assert {note["repeat"] for note in told["notes"]} == {1, 2}
    assert told["tally"]["missed"] == told["tally"]["extra"] == 0
    assert {each["verdict"] for each in told["notes"]} == {"in time"}
    between = [screen for screen in stage.screens if screen[2].strip() == "A counted bar"]
    assert any("Every clap was there and in time." in "\n".join(screen) for screen in between)


def test_what_to_type_next_lets_the_same_recording_sound(drill: Path) -> None:
    """Whoever practised with the pianist goes on with the pianist."""
    bare = drill.with_name("bare.toml")
    bare.write_text(drill.read_text(encoding="utf-8").split("[acc")[0], encoding="utf-8")
    piano, beats = drill.with_name("piano.wav"), drill.with_name("piano.beats")
    wish = ClapWish(str(bare), layers="accompaniment,click", dry_run=True, bars="10-14")
    wish = replace(wish, accompaniment=piano, beats=beats, steady=True, lead_in=1)
    command = clap_along(wish).worded(as_typed).text.split("To type next:")[1].splitlines()[1]
    for typed in (
        f"clap {bare} --layers accompaniment,click --accompaniment {piano} --beats {beats}",
        " --steady --lead-in 1",
        " --bars 10-14 --tempo ",
    ):
        assert typed in command
    assert re.search(r"--tempo \d+(\.\d)? ", command), "a number that one types"
    tries = EnterWish(str(drill), dry_run=True, speed=0.71234, tries=1)
    told = practise_entry(tries).worded(as_typed).text
    assert re.search(r"--tempo \d+(\.\d)?$", told, re.MULTILINE)


def test_where_the_pianist_plays_a_repeat_no_try_begins_before_its_end(
    breathing: Performed, tmp_path: Path
) -> None:
    """Bars 1 and 2 come twice in the recording: from as far up as can be is from bar 3."""
    path = drill_of(breathing, tmp_path)
    head, rhythm, tail = path.read_text(encoding="utf-8").split('"""')
    bar = rhythm.split("|")[0].strip()
    path.write_text(
        f'{head}"""\n|: {bar} | {bar} :| rest 8 | (1) & 2 | {bar}\n"""{tail}', encoding="utf-8"
    )
    answer = practise_entry(EnterWish(str(path), tries=6, dry_run=True))
    told = answer.document
    assert told["entry"] == {"bar": 11, "count": "1&"}
    assert "eight bars before" in answer.text
    assert "from the top" not in answer.text
    assert max(each["lead_bars"] for each in told["tries"]) == 8
    (top,) = (each for each in told["tries"] if each["from_top"])
    assert top["lead_bars"] == 8
    assert [each["in_time"] for each in told["tries"][1:4]] == [True] * 3


def test_of_a_recording_with_repeats_the_bars_printed_lead_in(
    breathing: Performed, tmp_path: Path
) -> None:
    """Only what the recording plays as bars 11 to 14 is mapped: printed bars 9 to 12."""
    path = drill_of(breathing, tmp_path, first=11)
    head, rhythm, tail = path.read_text(encoding="utf-8").split('"""')
    bar = rhythm.split("|")[0].strip()
    path.write_text(
        f'{head}"""\n|: {bar} | {bar} :| rest 8 | (1) & 2 | {bar}\n"""{tail}', encoding="utf-8"
    )
    told = practise_entry(EnterWish(str(path), tries=2, dry_run=True)).document
    assert told["entry"] == {"bar": 11, "count": "1&"}
    assert [each["lead_bars"] for each in told["tries"]] == [2, 2]
    assert told["tries"][1]["in_time"] is True


def test_from_the_top_the_whole_introduction_of_the_recording_is_heard(
    drill: Path, breathing: Performed
) -> None:
    """The try that is like the concert: from the first bar of the passage."""
    stage = Watching()
    told = practise_entry(EnterWish(str(drill), tries=4, dry_run=True), stage).document
    (top,) = (each for each in told["tries"] if each["from_top"])
    assert top["lead_bars"] == ENTRY_BAR - 1
    assert top["in_time"] is True
    number = told["tries"].index(top) + 1
    mine = [screen for screen in stage.screens if f"Try {number}:" in "\n".join(screen)]
    assert any(screen[2].strip() == "Bar 1" for screen in mine)
    assert breathing.downbeats_s[0] >= 0


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"layers": "accompaniment", "loop": True, "lead_in": 0}, "give .*lead-in.1. or more"),
        ({"steady": True}, "add accompaniment to .*layers"),
        ({"layers": "accompaniment", "lead_in": -1}, "lead-in must be 0 to"),
    ],
    ids=str,
)
def test_clapping_that_cannot_be_done_is_refused(
    drill: Path, wish: dict[str, object], words: str
) -> None:
    """Before anything sounds."""
    with pytest.raises(RequestError, match=words):
        clap_along(ClapWish(str(drill), dry_run=True, **wish))  # type: ignore[arg-type]
