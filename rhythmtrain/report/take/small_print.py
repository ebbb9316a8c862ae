"""What is to be known about a take as a whole: how it went along, and how it was heard.

The first stands at the head, the second at the foot, and neither is said where it does not matter.
"""

from rhythmtrain.assess.findings import BY_START, Findings
from rhythmtrain.remedies import remedy
from rhythmtrain.report.take.flags import LITTLE, entries_amiss
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import bar_in_words, milliseconds, number, sentence

USUAL_S = 0.080
ON_THE_CLICK_S = 0.005
LEAST_MATCHED = 0.7
LENGTHS = "How long you held notes was not checked."
LENGTHS_SOME = "How long you held notes was heard only where a note could be heard to end."
START_FOUND = (
    "Where bar 1 begins was found from the take itself, so whether all of it was late or early "
    "by the same amount cannot be told."
)
DELAY_UNKNOWN = (
    "The sound delay of this machine is not measured yet, so whether all of it was late or early "
    f"by the same amount cannot be told: {remedy('measure-delay')}."
)
TOO_FEW = "The notes are too few to tell whether this is the right passage."
# How the remarks of a take begin, by what the report does with them.
SAID_ELSEWHERE = ("everything came", "from bar")
SAID_BY_TRIES = ("tries were heard",)
ON_HEARING = ("where bar 1", "nothing kept time", "with so few", "the entry in bar")


def story(findings: Findings) -> tuple[str, ...]:
    """Return how the take went along: how many tries, where it stopped and went on."""
    if findings.instead is not None:
        return ()
    lines = (tries_in_words(findings), *_remarks(findings, on_hearing=False))
    return tuple(line for line in lines if line)


def small_print(heard: Heard) -> tuple[str, ...]:
    """Return what is to be known about how it was heard, a sentence or two a line."""
    findings = heard.findings
    if findings.looks_like is False:
        return ()
    lines = [
        *(_remarks(findings, on_hearing=True) or _start(findings)),
        _too_few(heard),
        _habit(heard),
        _coarse(heard),
        LENGTHS_SOME if findings.lengths else LENGTHS,
    ]
    return tuple(line for line in lines if line)


def tries_in_words(findings: Findings) -> str:
    """Return how many tries were heard and which one is told of, or "" where there was one."""
    if len(findings.tries) < 2:  # noqa: PLR2004  (one try needs no word)
        return ""
    shown = findings.tries[findings.shown]
    which = f"from {bar_in_words(shown.from_bar)} to {bar_in_words(shown.to_bar)}"
    return sentence(
        f"{number(len(findings.tries))} tries were heard; "
        f"this is about number {findings.shown + 1}, {which}"
    )


def _remarks(findings: Findings, *, on_hearing: bool) -> tuple[str, ...]:
    return tuple(
        sentence(f"{remark}{remedy('by-start')}" if remark.endswith(BY_START) else remark)
        for remark in findings.remarks
        if remark.startswith(ON_HEARING) == on_hearing
        and not remark.startswith(SAID_ELSEWHERE)
        and not any(words in remark for words in SAID_BY_TRIES)
    )


def _start(findings: Findings) -> tuple[str, ...]:
    return (START_FOUND,) if findings.start == "found" and findings.timing != "free" else ()


def _too_few(heard: Heard) -> str:
    tally = heard.findings.tally
    some = tally.matched < LEAST_MATCHED * (tally.expected - tally.not_checked)
    return TOO_FEW if heard.findings.looks_like is None and some else ""


def _habit(heard: Heard) -> str:
    """Return where the player lies beside the click, which can be told only from a given start."""
    findings = heard.findings
    told = findings.start == "given" and not findings.shift_beats and findings.timing != "free"
    if findings.spread is None or not told:
        return ""
    if not heard.playing.delay_known:
        return DELAY_UNKNOWN
    habit = findings.spread.median_s
    notes = f"Your {heard.playing.noun}s"
    click = kept_by(findings)
    if abs(habit) < ON_THE_CLICK_S:
        return f"{notes} lie right on the {click}."
    side = "behind" if habit > 0 else "ahead of"
    where = f"{notes} lie {milliseconds(habit)} {side} the {click}"
    if abs(habit) <= USUAL_S:
        return f"{where} all through: that is how people play with a {_thing(findings)}, leave it."
    return (
        f"{where} all through, which is more than people usually do: it may be the sound delay "
        "of the recording, or the start that was given."
    )


def kept_by(findings: Findings) -> str:
    """Return what kept time for the player: "click", "recording", or the "beat" that was found."""
    if findings.timing == "recording":
        return "recording"
    return "beat" if findings.tempo_found else "click"


def _thing(findings: Findings) -> str:
    return "recording" if findings.timing == "recording" else "click"


def _coarse(heard: Heard) -> str:
    """Return how finely notes were heard, where something was said of early and late."""
    findings, playing = heard.findings, heard.playing
    verdicts = {flag.verdict.value for flag in heard.flags}
    verdicts |= {str(entry.verdict) for entry in entries_amiss(findings)}
    timed = not verdicts.isdisjoint(LITTLE)
    if not playing.coarse or not timed:
        return ""
    return (
        f"Single notes like these are heard to about {milliseconds(playing.uncertainty_s)}; "
        "what is finer cannot be told here."
    )
