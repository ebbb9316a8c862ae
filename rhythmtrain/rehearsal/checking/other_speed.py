"""Whether a take that was refused is the passage after all, at another speed than was said.

A student plays faster than the teacher asked, or loses the click and goes on alone: held against
the speed that was said, no note lies where it should.  So a refused take is asked once more with
its speed left open, and where that is plainly the passage the speed is told.
"""

from dataclasses import replace

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Take
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.text import tempo_in_words
from rhythmtrain.timing.timeline import Timeline

CLICK = "click"
# What is nearer than this to the speed that was said would have been found there.
LEAST_AWAY = 0.02
# Of 28 other passages two fit at some speed, with .23 and .62 of the notes in time; of 12 takes at another
# speed each, with .88 or more.
SLOWEST, FASTEST, LEAST_IN_TIME = 0.65, 1.5, 0.75


def other_speed(
    timeline: Timeline, take: Take, settings: Settings, heard: Heard, *, live: bool
) -> str:
    """Return at which speed a refused take may be the passage, "" where it is at none.

    ``live`` is whether it was played here, to a click that sounded.
    """
    findings = heard.findings
    refused = findings.looks_like is False and findings.instead is None
    if not refused or settings.speed is None or settings.timing != CLICK:
        return ""
    found = check_take(timeline, take, replace(settings, speed=None, start_s=None))
    faster = found.speed / findings.speed
    away = SLOWEST <= faster <= FASTEST and abs(faster - 1) >= LEAST_AWAY
    if found.looks_like is not True or not away or _in_time(found) < LEAST_IN_TIME:
        return ""
    passage = heard.passage
    there, asked = (tempo_in_words(passage, speed) for speed in (found.speed, findings.speed))
    to_do = (
        "listen to the click before you begin, and stay with it"
        if live
        else "say that tempo, or none"
    )
    return f"It may be {passage.title} at {there}, and not at {asked}: {to_do}."


def _in_time(findings: Findings) -> float:
    """Return the share of the notes, and of what was too many, that was in time."""
    right = sum(note.verdict is Verdict.IN_TIME for note in findings.notes)
    return right / max(findings.tally.expected + findings.tally.extra, 1)
