"""Clapping along: the track plays, what is clapped is heard, and then it is said what was heard."""

from dataclasses import dataclass, replace
from typing import Any

from rhythmtrain.devices.ports import How
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.checking.checked import Asked, Checked, document
from rhythmtrain.rehearsal.clapping.loop import Rounds
from rhythmtrain.rehearsal.clapping.rounds import Round, rounds_of
from rhythmtrain.rehearsal.clapping.wish import ClapWish, checked_source
from rhythmtrain.rehearsal.live.beside import Ear
from rhythmtrain.rehearsal.live.dry_run import Player, dry_delay, dry_rig
from rhythmtrain.rehearsal.live.judged import judged_live
from rhythmtrain.rehearsal.live.keeping import NOT_KEPT, Kept, keep_live
from rhythmtrain.rehearsal.live.live import Rig, Shown
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.report import write_live_page
from rhythmtrain.rehearsal.live.rigs import MIC, TapsFrom, real_rig
from rhythmtrain.rehearsal.live.sound_delay import kept_delay
from rhythmtrain.rehearsal.live.stage import NoStage, Stage
from rhythmtrain.rehearsal.live.take import perform
from rhythmtrain.rehearsal.passages.passages import wished_passage
from rhythmtrain.rehearsal.recorded.sounding import sound_doubts
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.rehearsal.tracks.track import layers_named
from rhythmtrain.report.take.text import check_text, tempo_in_words

DRY_ROUNDS = 2
ALOUD = "Count aloud while you clap."
ESCAPE = "Escape stops, and what you played is checked."
CARE = "Start quiet, keep it low with headphones; rest often, stop when it hurts."
HOW_TO = {"keys": "Any key is a clap: the space bar is a good one.", "midi": "", "mic": ""}


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
    wanted = checked_source(wish)
    said: list[str] = []
    passage = wished_passage(wish, said.append)
    if Layer.ACCOMPANIMENT in layers_named(wish.layers):
        said += sound_doubts(wish.passage, wish.files)
    takes: list[_Done] = []
    for each in rounds_of(wish, passage):
        before = takes[-1].performance if takes else None
        done = _one(each, wish, wanted, stage or NoStage(), before)
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


def _one(
    each: Round, wish: ClapWish, wanted: TapsFrom, stage: Stage, before: Performance | None
) -> _Done:
    rig = _rig(each, wish, wanted)
    head = each.timeline.passage.title
    tempo = tempo_in_words(each.timeline.passage, each.timeline.practice.speed)
    aloud = wish.aloud if wish.aloud is not None else wanted.kind == MIC and wish.kind == "claps"
    feet = (ALOUD if aloud else "", HOW_TO[wanted.kind], ESCAPE, "" if before else CARE)
    asked = Asked(
        wish.passage,
        wish.bars,
        wish.kind,
        live=wish.heard_so,
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
        way=before.way if before else None,
    )
    performance = replace(performance, endless=wish.loop)
    checked = judged_live(
        performance, each.timeline, asked, timing=each.timing, recording=each.recording
    )
    theirs = bool(each.called)
    kept = NOT_KEPT if wish.dry_run or theirs else keep_live(checked, wish)
    return _Done(each.called, performance, checked, kept)


def _rig(each: Round, wish: ClapWish, wanted: TapsFrom) -> Rig:
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
        "lost": gathered.lost,
        "delay_ms": delay.delay_s * 1000,
        "delay_known": delay.known,
    }
