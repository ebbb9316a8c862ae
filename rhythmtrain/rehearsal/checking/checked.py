"""A take that was heard: everything that reports, pages and JSON need of it."""

from dataclasses import dataclass, replace
from statistics import median
from typing import Any

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings
from rhythmtrain.assess.judging.lengths import lengths_of
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Take
from rhythmtrain.rehearsal.checking.counted_aloud import counted
from rhythmtrain.rehearsal.checking.other_speed import other_speed
from rhythmtrain.report.take.advice import Advice, advice
from rhythmtrain.report.take.document import check_json
from rhythmtrain.report.take.flags import flags
from rhythmtrain.report.take.playing import playing_of
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.timing.timeline import Timeline


@dataclass(frozen=True, slots=True)
class Checked:
    """A take held against its passage, with what is to be said of it.

    ``meet`` are the bars in which it had to meet a recording, ``one_go`` says that nobody can have begun
    again, both as in ``Settings``.
    """

    timeline: Timeline
    take: Take
    findings: Findings
    heard: Heard
    said: Advice
    meet: tuple[int, ...] | None = None
    one_go: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person typed for the passage, which bars of it, and what was listened for.

    ``part`` are the options that name a part of a score (" --part Clarinet"), ``sounding`` those with
    which the recording that was played to sounds again.  ``live`` is None for a recorded take; for one that was played here the options that say what it
    was heard from, ``delay_known`` is False where nobody measured the sound delay, and ``stopped``
    True where it was broken off.  ``one_go`` is True of one try at an entry; ``aloud`` is whether the
    player counted aloud, None where nobody said.
    """

    name: str
    bars: str | None = None
    kind: str = "claps"
    live: str | None = None
    delay_known: bool = True
    stopped: bool = False
    part: str = ""
    sounding: str = ""
    one_go: bool = False
    aloud: bool | None = None


def judged(timeline: Timeline, take: Take, settings: Settings, asked: Asked) -> Checked:
    """Return ``take`` held against ``timeline``, with what is to be said of it."""
    findings = check_take(timeline, take, settings)
    if asked.stopped:
        tries = tuple(replace(each, complete=False) for each in findings.tries)
        findings = replace(findings, tries=tries)
    findings = replace(findings, lengths=lengths_of(timeline, take, findings))
    unsure = median(each.uncertainty_s for each in take.heard)
    playing = playing_of(
        take.source, asked.kind, uncertainty_s=unsure, delay_known=asked.delay_known
    )
    heard = Heard(findings, timeline.passage, flags(findings), playing, asked.sounding)
    said = advice(heard, name=asked.name, bars=asked.bars, live=asked.live, part=asked.part)
    more = other_speed(timeline, take, settings, heard, live=asked.live is not None) or counted(
        heard, take, aloud=asked.aloud
    )
    said = replace(said, first=f"{said.first} {more}".strip())
    return Checked(timeline, take, findings, heard, said, settings.meet, settings.one_go)


def document(checked: Checked) -> dict[str, Any]:
    """Return the stable JSON document of a checked take."""
    return check_json(
        checked.findings,
        checked.timeline.passage,
        source=checked.take.source,
        onsets_s=checked.take.times_s,
        advice=checked.said.lines,
    )
