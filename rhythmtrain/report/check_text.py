"""What was heard in a take, in plain words for a terminal: praise, the first thing, the table."""

from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.report.advice import Advice
from rhythmtrain.report.entry_rows import entry_rows
from rhythmtrain.report.flags import Flag
from rhythmtrain.report.praise import Heard
from rhythmtrain.report.words import (
    count_in_words,
    milliseconds,
    number,
    sentence,
)
from rhythmtrain.score.metre import value_name
from rhythmtrain.score.passage import Passage

WIDTH = 78
INDENT = 7
HABIT_S = 0.080
LENGTHS = "How long you held notes was not checked."
START_FOUND = (
    "Where bar 1 begins was found from the take itself, so whether all of it was late or early "
    "by the same amount cannot be told."
)


def check_text(heard: Heard, said: Advice, *, take: str) -> str:
    """Return the whole text, at most 78 columns wide, for the take called ``take``."""
    blocks = [
        _heading(heard, take),
        _said(said),
        _entries(heard),
        _table(heard),
        "\n".join(hanging("", line, indent=0) for line in small_print(heard.findings)),
        f"To type next:\n  {said.command}",
    ]
    return "\n\n".join(block for block in blocks if block)


def tempo_in_words(passage: Passage, speed: float, *, british: bool = False) -> str:
    """Return the tempo that was played: "quarter = 43"."""
    value = value_name(passage.metre.tempo_value, british=british) or "beat"
    return f"{value} = {passage.tempo * speed:.3g}"


def _heading(heard: Heard, take: str) -> str:
    findings = heard.findings
    tempo = tempo_in_words(heard.passage, findings.speed)
    found = " (found from the take)" if findings.tempo_found else ""
    lines = [heard.passage.title, f"{take}, at {tempo}{found}"]
    lines.append(tries_in_words(findings))
    return "\n".join(line for line in lines if line)


def tries_in_words(findings: Findings) -> str:
    """Return how many tries were heard and which one is told of, or "" where there was one."""
    if len(findings.tries) < 2:  # noqa: PLR2004  (one try needs no word)
        return ""
    shown = findings.tries[findings.shown]
    which = f"from bar {shown.from_bar} to bar {shown.to_bar}"
    return (
        f"{number(len(findings.tries)).capitalize()} tries were heard; "
        f"this is about number {findings.shown + 1}, {which}."
    )


def _said(said: Advice) -> str:
    return "\n".join(hanging(label, words) for label, words in said.labelled)


def hanging(label: str, words: str, *, indent: int = INDENT) -> str:
    """Return ``words`` in lines of at most ``WIDTH``, all ``indent`` in, with ``label`` before."""
    lines, line = [], ""
    for word in words.split():
        if line and len(line) + 1 + len(word) > WIDTH - indent:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    lines.append(line)
    return "\n".join(f"{label if not n else '':<{indent}}{each}" for n, each in enumerate(lines))


def _entries(heard: Heard) -> str:
    lines = [
        f"  bar {row.bar}, {row.count}: {row.went}{f' ({row.after})' if row.after else ''}"
        for row in entry_rows(heard.findings, heard.passage)
    ]
    return "\n".join(["Entries", *lines]) if lines else ""


def _table(heard: Heard) -> str:
    if not heard.flags:
        return ""
    rows = [("Bar", "Count", "What was heard")]
    rows += [
        (str(flag.bar), count_in_words(heard.passage, flag.bar, flag.count), told(flag))
        for flag in heard.flags
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(2)]
    return "\n".join(
        f"  {bar:>{widths[0]}}  {count:<{widths[1]}}  {what}" for bar, count, what in rows
    )


def told(flag: Flag) -> str:
    """Return what was heard at one place: "early by 80 ms, 2 of 4 times"."""
    often = f", {flag.times} of {flag.of} times" if flag.of > 1 else ""
    if flag.verdict is Verdict.MISSED or flag.offset_s is None:
        return f"not heard{often}"
    return f"{flag.verdict.value} by {milliseconds(flag.offset_s)}{often}"


def small_print(findings: Findings) -> tuple[str, ...]:
    """Return what is to be known about how it was heard, a sentence or two a line."""
    lines = [sentence(remark) for remark in findings.remarks]
    found = findings.start == "found" and findings.timing != "free"
    if found and not any("cannot be told" in line for line in lines):
        lines.append(START_FOUND)
    habit = findings.spread
    if findings.start == "given" and habit is not None and abs(habit.median_s) <= HABIT_S:
        lines.append(_habit(habit.median_s))
    return (*lines, LENGTHS)


def _habit(median_s: float) -> str:
    if abs(median_s) < 0.005:  # noqa: PLR2004  (nobody hears five milliseconds)
        return "Your claps lie right on the click."
    side = "behind" if median_s > 0 else "ahead of"
    return (
        f"Your claps lie {milliseconds(median_s)} {side} the click all through: "
        "that is how people clap, leave it."
    )
