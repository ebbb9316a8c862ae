"""Clapping along: the track plays, what is clapped is heard, and then it is said what was heard."""

from dataclasses import dataclass, replace
from functools import partial
from math import ceil
from pathlib import Path
from typing import Any

from rhythmtrain.devices.ports import How
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.rehearsal.accompaniment import NO_FILES
from rhythmtrain.rehearsal.beside import Ear
from rhythmtrain.rehearsal.checked import Asked, Checked, document
from rhythmtrain.rehearsal.dry_run import Player, dry_delay, dry_rig
from rhythmtrain.rehearsal.keeping_live import NOT_KEPT, Kept, keep_live
from rhythmtrain.rehearsal.live import Rig, Shown
from rhythmtrain.rehearsal.live_recorded import files_as_typed, sounding_on
from rhythmtrain.rehearsal.live_report import write_live_page
from rhythmtrain.rehearsal.live_take import Performance, Sounding, judged_live, perform
from rhythmtrain.rehearsal.passages import practice_of, whole_passage, wished_passage
from rhythmtrain.rehearsal.rigs import MIC, TapsFrom, as_typed, real_rig, taps_from
from rhythmtrain.rehearsal.rounds import Rounds
from rhythmtrain.rehearsal.sound_delay import kept_delay
from rhythmtrain.rehearsal.stage import NoStage, Stage
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.rehearsal.track import TrackWish, counted_in, layers_named, wishes_of
from rhythmtrain.rehearsal.track_recorded import accompanied
from rhythmtrain.report.check_text import check_text, tempo_in_words
from rhythmtrain.report.commands import typed
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.safely import check_place
from rhythmtrain.timing.playing_order import MOST_REPEATS
from rhythmtrain.timing.timeline import Timeline, lay_out

LONGEST_LOOP_S = 30 * 60.0
# A recording is slowed once before it sounds, to know how loud it becomes: about 36 times as fast.
LONGEST_RECORDED_LOOP_S = 5 * 60.0
DRY_ROUNDS = 2
USUAL_LEAD_IN = 2
ALOUD = "Count aloud while you clap."
ESCAPE = "Escape stops, and what you played is checked."
CARE = "Start quiet, keep it low with headphones; rest often, stop when it hurts."
HOW_TO = {"keys": "Any key is a clap: the space bar is a good one.", "midi": "", "mic": ""}


@dataclass(frozen=True, slots=True)
class ClapWish(TrackWish):
    """What is to be clapped along with, and how it is heard: options as typed."""

    source: str = "keys"
    loudspeaker: str | None = None
    kind: str = "claps"
    loop: bool = False
    aloud: bool | None = None
    cue: bool = False
    report: Path | None = None
    dry_run: bool = False


@dataclass(frozen=True, slots=True)
class _Round:
    """One take to be made: of which timeline, with what sounding, called what."""

    timeline: Timeline
    sounding: Sounding
    called: str
    timing: str = "click"


@dataclass(frozen=True, slots=True)
class _Done:
    """A take that was made, and what was heard."""

    called: str
    performance: Performance
    checked: Checked
    kept: Kept


def clap_along(wish: ClapWish, stage: Stage | None = None) -> Told:
    """Play the track, hear what is clapped, and return what was heard.

    Raises:
        RequestError: options that do not go together.
        TakeError: nothing was clapped.
        DeviceError, MissingPartError: a device is missing.
        DrillError, FileError: the passage does not read.
    """
    wanted = _checked_wish(wish)
    said: list[str] = []
    passage = wished_passage(wish, said.append)
    takes: list[_Done] = []
    for each in _rounds(wish, passage):
        done = _one(each, wish, wanted, stage or NoStage(), care="" if takes else CARE)
        takes.append(done)
        if done.performance.gathered.ended.how is not How.FINISHED:
            break
    told = _told(takes, wish)
    told = replace(told, warnings=(*said, *told.warnings))
    if wish.report is None:
        return told
    write_live_page([(done.checked, done.performance) for done in takes], wish.report)
    text = f"{told.text}\n\nReport written to {wish.report}: open it in a browser."
    return replace(told, text=text, files=(wish.report,))


def _checked_wish(wish: ClapWish) -> TapsFrom:
    """Return what is listened to, once all options are known to go together."""
    wanted = taps_from(wish.source)
    if wish.kind != "claps" and wanted.kind != MIC:
        raise RequestError(f"--as {wish.kind} is for the microphone: add --from mic")
    if wish.loop and (wish.fade or wish.repeats != 1):
        raise RequestError("--loop goes on until you stop: leave out --fade and --repeats")
    recorded = Layer.ACCOMPANIMENT in layers_named(wish.layers)
    if recorded and wish.loop and wish.lead_in < 1:
        raise RequestError("in a loop bars of the recording come between: give --lead-in 1 or more")
    if not recorded and (wish.steady or wish.files != NO_FILES):
        raise RequestError("add accompaniment to --layers, so that the recording is heard")
    if wish.report is not None:
        if wish.report.suffix.lower() not in (".html", ".htm"):
            raise RequestError(f"the report is a page: name it like heard.html, not {wish.report}")
        check_place(wish.report)
    return wanted


def _rounds(wish: ClapWish, passage: Passage) -> list[_Round]:
    """Return the takes to be made: the accompanist's bars first where asked."""
    rounds = [_round(wish, passage, "")]
    if wish.cue:
        if not passage.cue:
            raise RequestError(
                f"{wish.passage} has no cue: leave out --cue, or write the accompanist's rhythm "
                "into the drill"
            )
        theirs = replace(passage, bars=passage.cue, cue=(), marks=())
        rounds.insert(0, _round(wish, theirs, "the accompanist's rhythm"))
    return rounds


def _round(wish: ClapWish, passage: Passage, called: str) -> _Round:
    if Layer.ACCOMPANIMENT in layers_named(wish.layers):
        return _recorded_round(wish, passage, called)
    practice = practice_of(counted_in(wish), passage)
    if wish.loop:
        rounds = _times(lay_out(passage, practice), LONGEST_LOOP_S)
        practice = replace(practice, repeats=rounds, between=1)
    timeline = lay_out(passage, practice)
    plan = plan_track(timeline, wishes_of(wish))
    return _Round(timeline, Sounding(plan, wish.language, wish.voice), called)


def _recorded_round(wish: ClapWish, passage: Passage, called: str) -> _Round:
    """Return a take with the recorded accompaniment, whose beats click and counts follow.

    In a loop its bars before the passage come between.
    """
    whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
    laid = partial(
        accompanied,
        passage=passage,
        whole=whole,
        files=wish.files,
        even=wish.steady,
        lead_in=wish.lead_in,
    )
    found = laid(wish)
    if wish.loop:
        found = laid(replace(wish, repeats=_times(found.timeline, LONGEST_RECORDED_LOOP_S)))
    plan = plan_track(found.timeline, wishes_of(wish))
    sounding = sounding_on(found, plan, language=wish.language, voice=wish.voice)
    return _Round(found.timeline, sounding, called, "recording")


def _times(once: Timeline, longest_s: float) -> int:
    """Return how often ``once`` fits into ``longest_s``, at least twice."""
    return max(min(ceil(longest_s / once.track_seconds(once.stop)), MOST_REPEATS), 2)


def _one(each: _Round, wish: ClapWish, wanted: TapsFrom, stage: Stage, *, care: str) -> _Done:
    rig = _rig(each, wish, wanted)
    head = each.timeline.passage.title
    tempo = tempo_in_words(each.timeline.passage, each.timeline.practice.speed)
    aloud = wish.aloud if wish.aloud is not None else wanted.kind == MIC and wish.kind == "claps"
    feet = (ALOUD if aloud else "", HOW_TO[wanted.kind], ESCAPE, care)
    asked = Asked(
        wish.passage,
        wish.bars,
        wish.kind,
        live=as_typed(wish.source, wish.kind, wish.loudspeaker) + _recording_as_typed(wish),
        part=wish.options,
    )
    shown = Shown(
        stage,
        each.timeline,
        f"{head}, {each.called}, {tempo}" if each.called else f"{head}, {tempo}",
        tuple(foot for foot in feet if foot),
        after=Rounds(each.timeline, rig.source, asked, timing=each.timing).said
        if wish.loop
        else None,
    )
    performance = perform(
        rig,
        each.sounding,
        shown,
        known=dry_delay if wish.dry_run else kept_delay,
        ear=Ear(wish.kind, aloud=aloud),
    )
    checked = judged_live(performance, each.timeline, asked, timing=each.timing)
    theirs = bool(each.called)
    kept = NOT_KEPT if wish.dry_run or theirs else keep_live(checked, wish)
    return _Done(each.called, performance, checked, kept)


def _recording_as_typed(wish: ClapWish) -> str:
    """Return the options that let the recording be heard again as it was; "" where there is none."""
    if Layer.ACCOMPANIMENT not in layers_named(wish.layers):
        return ""
    steady = " --steady" if wish.steady else ""
    lead_in = f" --lead-in {wish.lead_in}" if wish.lead_in != USUAL_LEAD_IN else ""
    return f" --layers {typed(wish.layers)}{files_as_typed(wish.files)}{steady}{lead_in}"


def _rig(each: _Round, wish: ClapWish, wanted: TapsFrom) -> Rig:
    if not wish.dry_run:
        return real_rig(wanted, wish.loudspeaker)
    stop_s = None
    if wish.loop:
        last = next(bar for bar in each.timeline.bars if bar.run == DRY_ROUNDS + 1)
        stop_s = float(each.timeline.track_seconds(last.start))
    return dry_rig(each.timeline, wanted.kind, Player(stop_s=stop_s))


def _told(takes: list[_Done], wish: ClapWish) -> Told:
    last = takes[-1]
    told: dict[str, Any] = document(last.checked) | {"live": _live(last.performance, wish)}
    if len(takes) > 1:
        told["cue"] = document(takes[0].checked)
    told["kept_as"] = last.kept.number
    text = "\n\n".join(map(_text, takes))
    return Told(text, told, warnings=(*last.performance.unsaid, *last.kept.warnings))


def _text(done: _Done) -> str:
    heard_from = done.performance.gathered.heard_from
    called = f"{heard_from}, {done.called}" if done.called else heard_from
    text = check_text(done.checked.heard, done.checked.said, take=called)
    return "\n\n".join([text, *done.performance.notes, *done.kept.said])


def _live(performance: Performance, wish: ClapWish) -> dict[str, Any]:
    gathered, delay = performance.gathered, performance.delay
    return {
        "from": wish.source,
        "device": gathered.name,
        "dry_run": wish.dry_run,
        "ended": gathered.ended.how.value,
        "reason": gathered.ended.reason,
        "lost": len(gathered.xruns),
        "delay_ms": delay.delay_s * 1000,
        "delay_known": delay.known,
    }
