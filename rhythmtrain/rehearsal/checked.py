"""A take that was heard: everything that reports, pages and JSON need of it."""

from dataclasses import dataclass
from typing import Any

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Take
from rhythmtrain.report.advice import Advice, advice
from rhythmtrain.report.check_json import check_json
from rhythmtrain.report.flags import flags
from rhythmtrain.report.praise import Heard
from rhythmtrain.timing.timeline import Timeline


@dataclass(frozen=True, slots=True)
class Checked:
    """A take held against its passage, with what is to be said of it."""

    timeline: Timeline
    take: Take
    findings: Findings
    heard: Heard
    said: Advice


def judged(timeline: Timeline, take: Take, settings: Settings, *, name: str) -> Checked:
    """Return ``take`` held against ``timeline``; ``name`` is what one types for the passage."""
    findings = check_take(timeline, take, settings)
    heard = Heard(findings, timeline.passage, flags(findings))
    return Checked(timeline, take, findings, heard, advice(heard, name=name))


def document(checked: Checked) -> dict[str, Any]:
    """Return the stable JSON document of a checked take."""
    return check_json(
        checked.findings,
        checked.timeline.passage,
        source=checked.take.source,
        onsets_s=checked.take.times_s,
        advice=checked.said.lines,
    )
