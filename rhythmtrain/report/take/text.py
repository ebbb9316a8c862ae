"""What was heard in a take, in plain words for a terminal: praise, the first thing, the table."""

from rhythmtrain.remedies import remedy
from rhythmtrain.report.lines import hanging, table
from rhythmtrain.report.take.advice import Advice
from rhythmtrain.report.take.entry_rows import entry_rows
from rhythmtrain.report.take.heard_rows import heard_rows
from rhythmtrain.report.take.held_rows import held_rows
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.small_print import small_print, story
from rhythmtrain.score.metre import value_name
from rhythmtrain.score.passage import Passage

MOST_ROWS = 12
SAME_SPEED = 0.005
WITH_RECORDING = "with the recording"
FEWEST_FOR_PACE = 2


def check_text(heard: Heard, said: Advice, *, take: str) -> str:
    """Return the whole text, at most 78 columns wide, for the take called ``take``."""
    known = heard.findings.looks_like is not False
    blocks = [
        _heading(heard, take),
        "\n".join(hanging(label, words) for label, words in said.labelled),
        _entries(heard) if known else "",
        _table(heard) if known else "",
        _held(heard) if known else "",
        "\n".join(hanging("", line, indent=0) for line in small_print(heard)),
        remedy("next", said.command),
    ]
    return "\n\n".join(block for block in blocks if block)


def tempo_in_words(passage: Passage, speed: float, *, british: bool = False) -> str:
    """Return the tempo that was played: "quarter = 43"."""
    value = value_name(passage.metre.tempo_value, british=british) or "beat"
    return f"{value} = {passage.tempo * speed:.3g}"


def pace_in_words(heard: Heard) -> str:
    """Return how fast it was played: "at quarter = 43", "with the recording at 0.6 of its speed"."""
    findings = heard.findings
    if findings.timing != "recording":
        return f"at {tempo_in_words(heard.passage, findings.speed)}"
    if abs(findings.speed - 1) < SAME_SPEED:
        return WITH_RECORDING
    return f"{WITH_RECORDING} at {findings.speed:.3g} of its speed"


def pace_told(heard: Heard) -> str:
    """Return how fast it was played, and whether that was found: two notes at least must say so."""
    if not heard.findings.tempo_found:
        return pace_in_words(heard)
    if heard.findings.tally.matched < FEWEST_FOR_PACE:
        return "too few notes to tell how fast"
    pace = pace_in_words(heard)
    own = " at its own speed" if pace == WITH_RECORDING else ""
    return f"{pace}{own} (found from the take)"


def _heading(heard: Heard, take: str) -> str:
    lines = [heard.passage.title, f"{take}, {pace_told(heard)}", *story(heard.findings)]
    return "\n".join(hanging("", line, indent=0) for line in lines)


def _entries(heard: Heard) -> str:
    rows = [
        (row.place, f"{row.went} ({row.after})" if row.after else row.went)
        for row in entry_rows(heard.findings, heard.passage)
    ]
    shown = table(rows[:MOST_ROWS])
    return "\n".join(["Entries", shown, *_more(len(rows))]) if rows else ""


def _table(heard: Heard) -> str:
    rows = [(row.place, row.what) for row in heard_rows(heard)]
    shown = table(rows[:MOST_ROWS])
    return "\n".join(["What was heard", shown, *_more(len(rows))]) if rows else ""


def _held(heard: Heard) -> str:
    """Return what was held otherwise than written, cut-offs before rests first."""
    rows = [(row.place, row.what) for row in held_rows(heard)]
    shown = table(rows[:MOST_ROWS])
    return "\n".join(["How long it was held", shown, *_more(len(rows))]) if rows else ""


def _more(rows: int) -> tuple[str, ...]:
    """Return the line that says how many rows are left for the page."""
    left = rows - MOST_ROWS
    return (f"  and {left} more{remedy('all-in-a-report', 'heard.html')}",) if left > 0 else ()
