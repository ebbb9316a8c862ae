"""A session on the shipped fakes: step by step, kept, gone on with, and ended."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.assess.clapped_rows import Row
from rhythmtrain.assess.instead.rows import row_notes
from rhythmtrain.cli.main import run
from rhythmtrain.coach.session import Session
from rhythmtrain.coach.settings import USUAL
from rhythmtrain.coach.stages import Stage
from rhythmtrain.coach.task import Reason, Task
from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_sound import FakeOutput, FakeSound
from rhythmtrain.devices.ports import STOP_KEY, Tap
from rhythmtrain.errors import RequestError
from rhythmtrain.hearing.live.way import Way
from rhythmtrain.rehearsal.entering.enter import EntryPractice
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.beside import Ear
from rhythmtrain.rehearsal.live.dry_run import Player, dry_delay, dry_rig
from rhythmtrain.rehearsal.live.live import Rig
from rhythmtrain.rehearsal.live.stage import NoStage
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.practising import machine as practise_machine
from rhythmtrain.rehearsal.practising.history import earlier_runs
from rhythmtrain.rehearsal.practising.instruments import KIND_OF, instrument_named
from rhythmtrain.rehearsal.practising.machine import Machine, dry_machine
from rhythmtrain.rehearsal.practising.practise import practise
from rhythmtrain.rehearsal.practising.rounds import material_of
from rhythmtrain.rehearsal.practising.settings import practice_settings
from rhythmtrain.rehearsal.practising.sitting import Sitting
from rhythmtrain.rehearsal.practising.steps import Doing, do_task
from rhythmtrain.rehearsal.practising.wait import KeysWaiting, NoWaiting
from rhythmtrain.rehearsal.practising.wish import PractiseWish, means_of
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.storage.history.history import open_history
from rhythmtrain.timing.timeline import Timeline
from rhythmtrain.units import Bpm
from tests.rehearsal.watching import Watching
from tests.simulate.kept_takes import kept_take

DRILL = """
title = "Ladle Rag"
metre = "2/4"
tempo = 112
rhythm = "1 2 & | 1 & 2 | 1 e [&] a 2 | 1 [2]"
"""
TWICE = """
title = "Ladle Rag, twice"
metre = "2/4"
tempo = 112
rhythm = "1 2 & |: 1 & 2 | 1 e [&] a 2 :| 1 [2]"
"""
ENTRY = """
title = "Ladle Rag, the entry"
metre = "2/4"
tempo = 96
rhythm = "1 2 | rest 2 | 1 & 2 | 1 (2)"
cue = "1 2 | 1 & 2 & | 1 2 | 1 2 | 1 2"
"""


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep takes and settings in a folder of the test's own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))


@pytest.fixture
def short(tmp_path: Path) -> str:
    """Return a drill of four bars."""
    path = tmp_path / "ladle.toml"
    path.write_text(DRILL, encoding="utf-8")
    return str(path)


@pytest.fixture
def entry(tmp_path: Path) -> str:
    """Return a drill with a rest of two bars, and a cue."""
    path = tmp_path / "entry.toml"
    path.write_text(ENTRY, encoding="utf-8")
    return str(path)


def keeping(**players: Player) -> Machine:
    """Return fakes on which takes are kept; ``players`` by number of the task ("n3")."""
    return Machine(
        lambda timeline, number: dry_rig(timeline, "keys", players.get(f"n{number}", Player())),
        dry_delay,
        lambda _kind: Ear("claps"),
        NoWaiting(),
        keeps=True,
    )


def steps(document: dict[str, object]) -> list[tuple[str, float]]:
    """Return the steps and tempi of a session."""
    found = document["steps"]
    assert isinstance(found, list)
    return [(each["step"], each["tempo"]) for each in found]


def test_a_dry_session_goes_the_teachers_way_and_back_to_the_bar_that_failed(short: str) -> None:
    """An invented player slips in bar 3 once: alone, slower, then in its place, then up."""
    told = practise(PractiseWish(short, dry_run=True, minutes=15))
    went = told.document["steps"]
    assert [each["step"] for each in went[:4]] == ["listen", "echo", "with_help", "alone"]
    failed = next(each for each in went if each["failed_bars"])
    after = went[went.index(failed) + 1]
    assert (failed["failed_bars"], after["bars"], after["why"]) == ([3], [3], "alone")
    assert after["tempo"] < failed["tempo"]
    assert told.document["over"] == "done"
    assert told.document["reached"] == 112
    assert told.document["next"]["step"] == "ladder"
    assert "It stands at its written tempo" in told.text
    json.dumps(told.document, allow_nan=False)


def test_a_session_ends_when_its_minutes_are_over_and_says_where_it_goes_on(short: str) -> None:
    """By time, not in the middle of a take."""
    told = practise(PractiseWish(short, dry_run=True, minutes=2)).worded(as_typed)
    assert told.document["over"] == "time"
    assert 120 <= told.document["spent_s"] < 200
    assert "Next time it goes on with: " in told.text
    assert f"To type next:\n  rhythmtrain practise {short}" in told.text


def test_each_page_says_what_was_heard_what_comes_and_why(short: str) -> None:
    """One instruction at a time, and care for the body at the beginning."""
    stage = Watching()
    practise(PractiseWish(short, dry_run=True, minutes=3), stage)
    pages = ["\n".join(lines) for lines in stage.screens if any("Why:" in each for each in lines)]
    assert "Start quiet" in pages[0]
    assert "What was heard" not in pages[0]
    assert "Hands still" in pages[0]
    assert "What was heard\n  Echo: right" in pages[2]
    assert all("Escape ends the session" in page for page in pages)


def test_an_instrument_is_sung_and_played_and_what_keys_cannot_hear_is_not_judged(
    short: str,
) -> None:
    """The ladder is clapped then, and that is said."""
    stage = Watching()
    wish = PractiseWish(short, dry_run=True, minutes=20, instrument="clarinet")
    told = practise(wish, stage)
    judged = {each["step"]: each["judged"] for each in told.document["steps"]}
    assert (judged["sing"], judged["one_note"], judged["as_written"]) == (False, False, False)
    assert judged["ladder"]
    pages = ["\n".join(lines) for lines in stage.screens if any("Why:" in each for each in lines)]
    assert not [page for page in pages if "Sing it: done" in page], "nothing was heard of it"
    assert [page for page in pages if "Nobody judges this: the keys cannot hear you sing." in page]
    assert told.document["over"] == "done"
    assert any("do not hear your clarinet" in each for each in told.warnings)


def test_a_keyboard_is_heard_through_midi(short: str) -> None:
    """It has notes of its own."""
    wish = PractiseWish(short, dry_run=True, minutes=20, instrument="piano", source="midi")
    told = practise(wish)
    judged = {each["step"]: each["judged"] for each in told.document["steps"]}
    assert (judged["sing"], judged["one_note"], judged["as_written"]) == (False, True, True)
    assert told.warnings == ()


def test_before_a_microphone_all_of_it_is_heard(short: str) -> None:
    """Singing too; the beats stay counted so that the loudspeaker can be taken out."""
    wish = PractiseWish(short, dry_run=True, source="mic", instrument="clarinet")
    means = means_of(wish)
    material = material_of(find_passage(short, "3"), means)
    outline = material.outline
    assert outline.heard == frozenset(outline.stages) - {Stage.LISTEN}
    doing = Doing(wish, material, USUAL, NoStage(), dry_machine(means))
    step = do_task(Task(Stage.SING, Bpm(50.0), 2, Reason.IN_ORDER), doing, 9)
    assert (step.done.runs, step.done.right, step.stopped) == (2, 2, False)
    listened = do_task(Task(Stage.LISTEN, Bpm(50.0), 1, Reason.BEGIN), doing, 0)
    assert (listened.done.runs, listened.done.silent) == (0, False)


KNOWN = Way(48_000, 0.025, 0.0, np.full((2, 480), 1e-3, np.float32), 1.0)


def test_what_is_known_of_the_room_goes_from_step_to_step(short: str) -> None:
    """Only the first seconds of a session are blind to claps beside a loudspeaker."""
    wish = PractiseWish(short, bars="1", dry_run=True, source="mic", minutes=1)
    means = means_of(wish)
    material = material_of(find_passage(short, "1"), means)
    doing = Doing(wish, material, USUAL, NoStage(), dry_machine(means))
    session = Session(material.outline, date(2026, 3, 2), (), (), USUAL)
    sitting = Sitting(doing, session, way=KNOWN)
    sitting.go()
    assert {step.done.runs > 0 for step in sitting.steps} == {False, True}
    assert all(step.way is KNOWN for step in sitting.steps)


def test_a_step_that_breaks_off_forgets_nothing_of_the_room(entry: str) -> None:
    """Stopped before the sound had begun; or the tries at an entry, which have their own course."""
    wish = PractiseWish(entry, dry_run=True, source="mic")
    means = means_of(wish)
    gone = replace(
        dry_machine(means), rig=lambda timeline, _: dry_rig(timeline, "mic", Player(stop_s=0.0))
    )
    doing = Doing(wish, material_of(find_passage(entry), means), USUAL, NoStage(), gone)
    step = do_task(Task(Stage.WITH_HELP, Bpm(60.0), 1, Reason.IN_ORDER), doing, 0, way=KNOWN)
    assert step.stopped
    assert step.way is KNOWN


def test_the_first_try_at_an_entry_begins_with_what_is_known_of_the_room(entry: str) -> None:
    """Without a screen nothing more is learned of it, so it is still there afterwards.

    The sound of a try is let go of once it was heard: an hour of tries needs no more than one.
    """
    wish = EnterWish(entry, dry_run=True, source="mic", tries=1)
    made = next(EntryPractice(wish, NoStage(), KNOWN).tries())
    assert made.performance.way is KNOWN
    assert made.performance.take.heard
    assert not made.performance.gathered.blocks


def test_a_singer_sings_and_is_not_asked_to_play(short: str) -> None:
    """One syllable is one note already."""
    means = means_of(PractiseWish(short, source="mic", instrument="soprano"))
    stages = material_of(find_passage(short), means).outline.stages
    assert Stage.SING in stages
    assert Stage.ONE_NOTE not in stages
    stage = Watching()
    wish = PractiseWish(short, dry_run=True, instrument="soprano", minutes=20)
    practise(wish, stage)
    said = "\n".join(line for lines in stage.screens for line in lines)
    assert "Sing it as it is written." in said
    assert "Play" not in said


def test_an_entry_is_learnt_slow_first_before_the_ladder(entry: str) -> None:
    """The accompanist's line, the rest, coming in: slow, then at tempo."""
    told = practise(PractiseWish(entry, dry_run=True, minutes=30))
    went = steps(told.document)
    names = [name for name, _ in went]
    assert names.index("their_line") < names.index("count_rest") < names.index("come_in")
    come_in = [tempo for name, tempo in went if name == "come_in"]
    assert come_in[0] < 96
    assert names.index("come_in") < names.index("ladder")


def test_what_was_played_is_kept_and_the_next_session_begins_there(short: str) -> None:
    """Every take in the history under its step; tomorrow nothing is done twice."""
    first = practise(PractiseWish(short, minutes=3), machine=keeping())
    numbers = [each["kept_as"] for each in first.document["steps"] if each["judged"]]
    assert len(set(numbers)) == len(numbers)
    assert None not in numbers
    wish = PractiseWish(short, minutes=1.5)
    rows = earlier_runs(wish, say=lambda _: None)
    assert len(rows) == len(numbers)
    assert all(row.right == row.runs for row in rows)
    coming = first.document["next"]
    second = practise(wish, machine=keeping())
    went = steps(second.document)
    assert went[0][0] == "listen"
    assert went[1] == (coming["step"], coming["tempo"]), "it begins with what was promised"
    assert went[1][0] == "ladder"
    assert went[1][1] > max(row.tempo for row in rows)


def test_the_history_says_of_each_take_what_was_said_when_it_was_played(tmp_path: Path) -> None:
    """Bars that come twice in a run, an unsteady hand, a take broken off.

    A clapped ladder and clapping alone with the least help are one thing.
    """
    path = tmp_path / "twice.toml"
    path.write_text(TWICE, encoding="utf-8")
    players = {f"n{n}": Player(uneven_s=0.05, seed=n) for n in range(1, 30)}
    wish = PractiseWish(str(path), minutes=12)
    told = practise(wish, machine=keeping(**players | {"n3": Player(stop_s=4.0)}))
    assert told.document["over"] == "stopped"
    told = practise(wish, machine=keeping(**players))
    said = [
        (each["step"].replace("ladder", "alone"), each["runs"], each["right"])
        for each in told.document["steps"]
        if each["judged"] and not each["bars"]
    ]
    assert len({right / runs for _, runs, right in said}) > 1, "some right, some wrong"
    rows = earlier_runs(wish, say=lambda _: None)
    known = [(row.stage.name.lower(), row.runs, row.right) for row in rows]
    assert known[-len(said) :] == said


def test_whoever_changes_from_the_microphone_to_keys_begins_nowhere_again(short: str) -> None:
    """What helped has another name there, and is the same step."""
    with open_history() as history:
        for number, (helped, kind) in enumerate(
            [
                ("you count", "wind"),
                ("click", "wind"),
                ("you count, every other bar silent", "claps"),
            ]
        ):
            history.keep(kept_take(number, passage=short, help=helped, instrument=kind))
    rows = earlier_runs(PractiseWish(short), say=lambda _: None)
    assert [(row.stage, row.help) for row in rows] == [
        (Stage.LADDER, 0),
        (Stage.LADDER, 0),
        (Stage.ALONE, 2),
    ]


def test_bars_done_alone_are_kept_as_those_bars(short: str) -> None:
    """So that they do not count as runs of the whole passage."""
    practise(PractiseWish(short, minutes=3), machine=keeping(n2=Player(slips=3)))
    wish = PractiseWish(short, bars="3-3")
    rows = earlier_runs(wish, say=lambda _: None)
    assert [row.stage for row in rows] == [Stage.WITH_HELP]


def test_entries_that_were_come_in_at_without_help_are_known_from_earlier(entry: str) -> None:
    """A course of ``enter`` counts; with the rest counted aloud it does not."""
    wish = PractiseWish(entry)
    with open_history() as history:
        for number, (helped, verdict) in enumerate(
            [
                ("no help", "in time"),
                ("no help", "one beat late"),
                ("rests counted aloud", "in time"),
            ]
        ):
            told = kept_take().document | {
                "entries": [{"bar": 3, "count": "1", "verdict": verdict}]
            }
            history.keep(kept_take(number, passage=entry, help=helped, document=told, speed=0.6))
    rows = earlier_runs(wish, say=lambda _: None)
    assert [(row.stage, row.runs, row.right) for row in rows] == [
        (Stage.COME_IN, 1, 1),
        (Stage.COME_IN, 1, 0),
    ]
    assert rows[0].tempo == pytest.approx(43.2)


def test_what_is_not_the_passage_is_said_and_counts_as_not_right(short: str) -> None:
    """And the first bars come alone, slower."""
    lost = Player(uneven_s=0.6, seed=4)
    told = practise(PractiseWish(short, minutes=2), machine=keeping(n2=lost))
    went = told.document["steps"][2]
    assert went["heard"] == ["That did not sound like this passage."]
    assert (went["right"], went["kept_as"]) == (0, None)
    assert told.document["steps"][3]["bars"] == [1, 2]


def test_the_beat_in_place_of_the_rhythm_is_told_and_counts_as_not_right(short: str) -> None:
    """What to do is said, no bar is blamed, and the history keeps nothing of it."""

    def on_the_beat(timeline: Timeline, _number: int) -> Rig:
        beats = replace(timeline, notes=row_notes(timeline, Row.BEAT), entries=())
        return dry_rig(beats, "keys", Player())

    told = practise(PractiseWish(short, minutes=2), machine=replace(keeping(), rig=on_the_beat))
    went = next(each for each in told.document["steps"] if each["heard"])
    assert went["heard"][0].startswith("You clapped the beat, not the rhythm.")
    assert (went["right"], went["kept_as"], went["failed_bars"]) == (0, None, [])


def test_a_player_who_is_silent_twice_is_asked_whether_anything_listens(short: str) -> None:
    """A microphone that is off must not lead through ten minutes."""
    told = practise(
        PractiseWish(short, minutes=30),
        machine=keeping(n1=Player(silent=True), n2=Player(silent=True)),
    )
    assert told.document["over"] == "silent"
    assert len(told.document["steps"]) == 3


def test_escape_while_playing_ends_cleanly_and_keeps_what_was_played(short: str) -> None:
    """And says where to go on."""
    told = practise(PractiseWish(short, minutes=30), machine=keeping(n2=Player(stop_s=6.0)))
    assert told.document["over"] == "stopped"
    assert told.document["steps"][-1]["kept_as"] is not None
    assert "You stopped here." in told.text
    at_once = practise(PractiseWish(short, minutes=30), machine=keeping(n0=Player(stop_s=0.0)))
    assert at_once.document["over"] == "stopped"


def test_a_device_that_goes_away_ends_the_session_and_is_named(short: str) -> None:
    """A cable that is pulled is nobody's wish to stop."""
    machine = keeping()

    def rig(timeline: Timeline, number: int) -> Rig:
        each = machine.rig(timeline, number)
        card = FakeSound(claimed_delay_s=0.025, away_at_s=6.0)
        clock = FakeClock()
        return replace(
            each,
            clock=clock,
            sound=lambda blocks: FakeOutput(blocks, clock, card),
            taps=lambda: FakeTaps([], clock),
        )

    told = practise(PractiseWish(short), machine=replace(machine, rig=rig))
    assert told.document["over"] == "stopped"
    assert "The fake sound card went away." in told.text
    assert "You stopped here" not in told.text


def test_a_key_begins_and_escape_at_a_page_ends() -> None:
    """Enter, any key, a pad; the releases of pads are no taps."""
    clock = FakeClock()
    taps = [Tap(1.0, "38", 0, released=True), Tap(2.0, "enter")]
    stage = Watching()
    waited = KeysWaiting(clock, [lambda: FakeTaps(taps, clock)]).until_begun(
        stage, lambda _c, _r: ("page",)
    )
    assert waited.begins
    assert waited.seconds == pytest.approx(2.0, abs=0.1)
    assert stage.screens[0] == ("page",)
    assert stage.opened == stage.closed == 1
    stop = [Tap(clock.now_s() + 1.0, STOP_KEY)]
    ended = KeysWaiting(clock, [lambda: FakeTaps(stop, clock)]).until_begun(
        stage, lambda _c, _r: ()
    )
    assert not ended.begins


def test_a_last_clap_that_comes_too_late_does_not_begin_what_was_not_read() -> None:
    """The page stands until one means it."""
    clock = FakeClock()
    taps = [Tap(0.1, "space"), Tap(0.6, "space"), Tap(5.0, "space")]
    waited = KeysWaiting(clock, [lambda: FakeTaps(taps, clock)]).until_begun(
        NoStage(), lambda _c, _r: ()
    )
    assert waited.seconds == pytest.approx(5.0, abs=0.1)


def test_without_anything_to_touch_it_begins_after_a_moment_to_read() -> None:
    """A player before a microphone, nobody at a keyboard."""
    clock = FakeClock()
    waited = KeysWaiting(clock, [], rest=clock.move).until_begun(NoStage(), lambda _c, _r: ())
    assert waited.begins
    assert 5 < waited.seconds < 15


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"instrument": "horn", "clap_only": True}, "instrument. or .*clap-only., not both"),
        ({"minutes": 0.2}, "minutes must be 1 to 120, got 0.2"),
        ({"order": "down"}, "order must be gradual, alternating, mix, got 'down'"),
        ({"instrument": "clarinett"}, "did you mean clarinet"),
        ({"instrument": "zzz"}, "say what kind of sound it makes, wind, brass"),
        ({"source": "ears"}, "from. must be keys"),
    ],
)
def test_options_that_do_not_go_together_are_named(wish: dict[str, object], words: str) -> None:
    """Before anything sounds."""
    with pytest.raises(RequestError, match=words):
        practise(PractiseWish("off-beats", dry_run=True, **wish))  # type: ignore[arg-type]


def test_every_instrument_has_a_kind_of_sound_that_the_microphone_can_listen_for() -> None:
    """A name, a kind, or a name with a hyphen."""
    for name, kind in KIND_OF.items():
        assert instrument_named(name.upper()).kind == kind
        assert Ear(kind).kind == kind
    assert instrument_named("double-bass").kind == "strings"
    assert instrument_named("brass").kind == "brass"


def test_the_numbers_are_the_users_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Set in the settings file, printed with what supports them, refused with the file's name."""
    file = tmp_path / "home" / "settings.json"
    file.parent.mkdir()
    file.write_text('{"practice": {"slow": 0.5}}', encoding="utf-8")
    assert practice_settings().slow == 0.5
    assert run(["practise", "--numbers"]) == 0
    said = capsys.readouterr().out
    assert "slow = 0.5" in said
    assert "supported by Simmons 2012" in said
    file.write_text('{"practice": {"slow": 7}}', encoding="utf-8")
    with pytest.raises(RequestError, match=r"settings.json: the practice setting slow must be"):
        practice_settings()
    file.write_text('{"practice": 3}', encoding="utf-8")
    with pytest.raises(RequestError, match=r"must be a table such as"):
        practice_settings()


def test_the_command_has_two_names_and_one_document(
    short: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As one writes it on either side of the sea."""
    monkeypatch.setattr(practise_machine, "DRY_PLAYERS", {})
    assert run(["practice", short, "--dry-run", "--minutes", "1", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["dry_run"] is True
    assert document["steps"][0]["step"] == "listen"
    assert run(["practise"]) == 2
    assert "Missing argument" in capsys.readouterr().err
