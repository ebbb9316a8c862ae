"""Clapping along, from the typed wish to what is said, on the shipped fakes."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_room import Dropout, Room
from rhythmtrain.devices.fake_sound import FakeOutput, FakeSound
from rhythmtrain.devices.ports import STOP_KEY, Block, How, Output, Passed, Tap, Xrun
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.rehearsal.checking.checked import Asked
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.live.dry_run import Player, dry_rig, played_times
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.judged import judged_live
from rhythmtrain.rehearsal.live.live import Rig, Shown
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.sound_delay import CLAIM_ERROR_S, Delay
from rhythmtrain.rehearsal.live.stage import NoStage
from rhythmtrain.rehearsal.live.take import Sounding, perform
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.rehearsal.watching import Watching

DELAY_S = 0.031
KNOWN = Delay(DELAY_S, 0.001, known=True)


def _timeline(rag: Path, **practice: int) -> Timeline:
    return lay_out(find_passage(str(rag)), Practice(count_in=1, **practice))


def _perform(
    timeline: Timeline,
    taps: Sequence[Tap],
    *,
    card: FakeSound | None = None,
    delay: Delay | None = KNOWN,
    away_at_s: float | None = None,
) -> Performance:
    """Play the timeline's track to a player who makes ``taps``, on the clock from 0."""
    clock = FakeClock()
    card = card or FakeSound(block=960)

    def sound(blocks: Iterable[Block]) -> Output:
        return FakeOutput(blocks, clock, card)

    def keys() -> FakeTaps:
        return FakeTaps(taps, clock, stamp_error_s=0.001, away_at_s=away_at_s)

    rig = Rig(clock, sound, keys, None, "keys", card.rate)
    shown = Shown(NoStage(), timeline)
    return perform(rig, Sounding(plan_track(timeline)), shown, known=lambda _: delay)


def _taps(timeline: Timeline, late_s: float = DELAY_S) -> list[Tap]:
    times = played_times(timeline, Player(late_s=0.0, uneven_s=0.006))
    return [Tap(time + late_s, "space") for time in times]


@pytest.mark.parametrize("source", ["keys", "midi"])
def test_the_whole_command_runs_on_the_fakes(rag: Path, source: str) -> None:
    """Everyone can see what it does before anything is plugged in."""
    stage = Watching()
    told = clap_along(ClapWish(str(rag), dry_run=True, source=source), stage).worded(as_typed)
    assert "was there and in time" in told.text
    assert "To type next:\n  rhythmtrain clap " in told.text
    live = told.document["live"]
    assert (live["from"], live["ended"], live["dry_run"]) == (source, "finished", True)
    assert told.document["start"] == "given"
    assert told.document["offset_ms"]["median"] == pytest.approx(-15, abs=6)
    assert (stage.opened, stage.closed) == (1, 1)
    assert len(stage.screens) > 100


def test_the_screen_follows_the_track_and_shows_the_claps(rag: Path) -> None:
    """What one sees while playing."""
    stage = Watching(60)
    clap_along(ClapWish(str(rag), dry_run=True), stage)
    names = list(dict.fromkeys(screen[2].strip() for screen in stage.screens))
    assert names[:3] == ["Counting in", "Bar 1", "Bar 2"]
    assert names[-1] == "Bar 11"
    lanes = ["".join(line for line in screen if "^" in line) for screen in stage.screens]
    assert max(lane.count("^") for lane in lanes) >= 6
    foot = "\n".join(stage.screens[0])
    assert "Escape stops" in foot
    assert "Start quiet" in foot


def test_taps_are_put_in_track_time_less_the_sound_delay(rag: Path) -> None:
    """A player who is exactly with what is heard is exactly in time."""
    timeline = _timeline(rag)
    checked = judged_live(_perform(timeline, _taps(timeline)), timeline, Asked("rag"))
    spread = checked.findings.spread
    assert spread is not None
    assert spread.median_s == pytest.approx(0.0, abs=0.004)
    assert checked.findings.tally.matched == len(timeline.notes)
    assert checked.findings.start == "given"


def test_a_delay_nobody_measured_is_the_driver_s_and_it_is_said(rag: Path) -> None:
    """Whoever has not measured is not told where they lie beside the click."""
    timeline = _timeline(rag)
    card = FakeSound(block=960, claimed_delay_s=0.02)
    performance = _perform(timeline, _taps(timeline, 0.17), card=card, delay=None)
    assert performance.delay == Delay(0.02, CLAIM_ERROR_S, known=False)
    checked = judged_live(performance, timeline, Asked("rag"))
    assert not checked.heard.playing.delay_known
    assert max(each.uncertainty_s for each in checked.take.heard) < 0.01
    assert checked.findings.tally.matched == len(timeline.notes)


def test_escape_stops_cleanly_and_what_was_played_is_checked(rag: Path) -> None:
    """Nothing that was not reached is called missed."""
    timeline = _timeline(rag)
    stop_s = float(timeline.track_seconds(timeline.bars[4].start))
    taps = [tap for tap in _taps(timeline) if tap.time_s < stop_s]
    performance = _perform(timeline, [*taps, Tap(stop_s + 0.4, STOP_KEY)])
    assert performance.gathered.ended.how is How.STOPPED
    findings = judged_live(performance, timeline, Asked("rag")).findings
    assert (findings.tally.matched, findings.tally.missed) == (len(taps), 0)
    assert not findings.tries[0].complete
    assert performance.incidents == (
        "You stopped before the end: what you played until then was checked.",
    )


@pytest.mark.parametrize("claps", range(1, 12))
def test_after_the_last_clap_nothing_is_missed(rag: Path, claps: int) -> None:
    """Whoever reaches for the stop key has stopped clapping a moment before."""
    timeline = _timeline(rag)
    taps = _taps(timeline)[:claps]
    performance = _perform(timeline, [*taps, Tap(taps[-1].time_s + 1.9, STOP_KEY)])
    findings = judged_live(performance, timeline, Asked("rag")).findings
    assert (findings.tally.matched, findings.tally.missed) == (claps, 0)


def test_the_stop_key_ends_a_take_on_pads_too(rag: Path) -> None:
    """Escape is on the keyboard, the claps come from elsewhere."""
    timeline = _timeline(rag)
    stop_s = float(timeline.track_seconds(timeline.bars[4].start))
    clock, card = FakeClock(), FakeSound(block=960)

    def sound(blocks: Iterable[Block]) -> Output:
        return FakeOutput(blocks, clock, card)

    def pads() -> FakeTaps:
        return FakeTaps([replace(tap, what="38") for tap in _taps(timeline)], clock)

    def keys() -> FakeTaps:
        return FakeTaps([Tap(stop_s, STOP_KEY)], clock)

    rig = Rig(clock, sound, pads, keys, "midi", card.rate, start_error_s=0.05)
    sounding = Sounding(plan_track(timeline))
    performance = perform(rig, sounding, Shown(NoStage(), timeline), known=lambda _: KNOWN)
    assert performance.gathered.ended.how is How.STOPPED
    assert performance.gathered.played_s == pytest.approx(stop_s, abs=0.05)
    assert performance.delay.error_s == pytest.approx(0.05, abs=0.001)
    assert "is known to 50 ms only" in performance.notes[-1]
    findings = judged_live(performance, timeline, Asked("rag")).findings
    assert findings.tally.missed == 0


def test_keys_that_go_away_leave_the_take_so_far(rag: Path) -> None:
    """A cable pulled in bar 4 costs nothing that was played before it."""
    timeline = _timeline(rag)
    gone_s = float(timeline.track_seconds(timeline.bars[4].start))
    performance = _perform(timeline, _taps(timeline), away_at_s=gone_s)
    findings = judged_live(performance, timeline, Asked("rag")).findings
    assert findings.tally.matched >= 10
    assert findings.tally.missed == 0
    assert performance.incidents == (
        "The fake keys went away: what was played until then is checked.",
    )


def test_a_sound_card_that_goes_away_leaves_the_take_so_far(rag: Path) -> None:
    """So does a server that is stopped."""
    timeline = _timeline(rag)
    gone_s = float(timeline.track_seconds(timeline.bars[4].start))
    performance = _perform(timeline, _taps(timeline), card=FakeSound(block=960, away_at_s=gone_s))
    assert performance.gathered.ended.how is How.WENT_AWAY
    assert judged_live(performance, timeline, Asked("rag")).findings.tally.matched >= 10
    assert "sound card went away" in performance.incidents[0]


def test_lost_sound_is_counted_and_makes_less_certain_and_nobody_late(rag: Path) -> None:
    """A busy machine holds its breath for 80 ms: the claps after it are where the player heard them."""
    timeline = _timeline(rag, repeats=2)
    lost = 3840
    at = 10 * 48_000
    card = FakeSound(block=960, room=Room(dropouts=(Dropout(at, lost, "both"),)))
    taps = [
        replace(tap, time_s=tap.time_s + (lost / 48_000 if tap.time_s > 10.02 else 0.0))
        for tap in _taps(timeline)
    ]
    performance = _perform(timeline, taps, card=card)
    checked = judged_live(performance, timeline, Asked("rag"))
    assert len(performance.gathered.xruns) == 1
    assert "Sound was lost once while you played" in performance.incidents[0]
    assert not [note for note in checked.findings.notes if note.plain]
    aims = played_times(timeline, Player(late_s=0.0, uneven_s=0.006))
    assert performance.take.times_s == pytest.approx(aims, abs=0.001)
    unsure = [each.uncertainty_s for each in checked.take.heard]
    assert min(unsure) > 0.005


def test_a_player_who_does_nothing_is_told_what_to_do(rag: Path) -> None:
    """Not that every note was missed."""
    timeline = _timeline(rag)
    with pytest.raises(TakeError, match="nothing was played: press the space bar"):
        judged_live(_perform(timeline, []), timeline, Asked("rag"))


def test_a_loop_goes_on_until_it_is_stopped_and_each_round_counts(rag: Path) -> None:
    """The same phrase again and again, a counted bar between."""
    stage = Watching()
    told = clap_along(ClapWish(str(rag), dry_run=True, loop=True), stage)
    assert told.document["live"]["ended"] == "stopped"
    assert "before the end" not in told.text, "it has no end"
    assert {note["repeat"] for note in told.document["notes"]} == {1, 2}
    assert told.document["tally"]["missed"] == 0
    between = [screen for screen in stage.screens if screen[2].strip() == "A counted bar"]
    playing = [screen for screen in stage.screens if screen[2].strip().startswith("Bar ")]
    assert any("was there" in "\n".join(screen) for screen in between)
    assert not any("was there" in "\n".join(screen) for screen in playing)


def test_the_accompanist_s_rhythm_is_clapped_first() -> None:
    """One comes in better when one knows what the other plays."""
    stage = Watching()
    told = clap_along(ClapWish("towpath-entry", dry_run=True, cue=True), stage)
    cared = [any("Start quiet" in line for line in screen) for screen in stage.screens]
    assert cared == sorted(cared, reverse=True), "said once, in the first take"
    assert cared[0]
    assert not cared[-1]
    assert told.text.index("the accompanist's rhythm") < told.text.index("Entries")
    assert told.document["cue"]["tally"]["expected"] > told.document["tally"]["expected"]


def test_a_player_who_was_stopped_in_the_cue_is_not_sent_on(rag: Path) -> None:
    """Escape means stop, in the first half too."""
    with pytest.raises(RequestError, match=r"has no cue: leave out .*cue"):
        clap_along(ClapWish(str(rag), dry_run=True, cue=True))


def test_counting_aloud_is_asked_for_where_it_helps(rag: Path) -> None:
    """With the microphone by default, with keys when one wishes."""
    shown = []
    for wish in (
        ClapWish(str(rag), dry_run=True, source="mic"),
        ClapWish(str(rag), dry_run=True),
        ClapWish(str(rag), dry_run=True, aloud=True),
    ):
        stage = Watching()
        clap_along(wish, stage)
        shown.append(any("Count aloud" in line for line in stage.screens[0]))
    assert shown == [True, False, True]


@pytest.mark.parametrize("source", ["keys", "mic"])
def test_a_report_of_a_live_take_is_a_page(rag: Path, tmp_path: Path, source: str) -> None:
    """The picture, as for a recorded take; what a microphone heard can be heard again."""
    page = tmp_path / "heard.html"
    told = clap_along(ClapWish(str(rag), dry_run=True, report=page, source=source))
    assert told.files == (page,)
    text = page.read_text(encoding="utf-8")
    assert "<svg" in text
    assert "data-clip=" in text
    assert str(page) in told.text


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"source": "drum"}, "from. must be keys, midi, midi:PORT, mic or mic:DEVICE, got 'drum'"),
        ({"source": "midi:"}, "got 'midi:'"),
        ({"source": "keys:x"}, "got 'keys:x'"),
        ({"kind": "wind"}, "as.wind. is for the microphone: add .*from.mic"),
        ({"loop": True, "fade": True}, "loop. goes on until you stop"),
        ({"loop": True, "repeats": 3}, "loop. goes on until you stop"),
        ({"report": Path("heard.txt")}, "name it like heard.html"),
    ],
    ids=str,
)
def test_wishes_that_do_not_go_together_are_refused(
    rag: Path, wish: dict[str, object], words: str
) -> None:
    """Before anything sounds."""
    with pytest.raises(RequestError, match=words):
        clap_along(ClapWish(str(rag), dry_run=True, **wish))  # type: ignore[arg-type]


def test_two_runs_of_the_same_player_are_the_same(rag: Path) -> None:
    """A dry run can be shown and compared."""
    first, second = (clap_along(ClapWish(str(rag), dry_run=True)) for _ in range(2))
    assert first.document == second.document


def test_the_invented_player_stops_where_it_is_told(rag: Path) -> None:
    """So that a loop ends in a dry run."""
    timeline = _timeline(rag)
    times = played_times(timeline, Player(stop_s=6.0))
    assert max(times) < 6.1
    assert dry_rig(timeline, "midi").source == "midi"
    assert np.all(np.diff(times) >= 0)


def test_sound_that_was_lost_in_playing_and_recording_at_once_was_lost_once() -> None:
    """A sound card tells of both, and the player is told how often it happened."""
    gathered = Gathered(48_000)
    gathered.take(Passed((), (), (Xrun(0, 256, "played"), Xrun(0, 256, "recorded"))))
    gathered.take(Passed((), (), (Xrun(512, 768, "recorded"),)))
    assert gathered.lost == 2
