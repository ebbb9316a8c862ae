"""The report page of one or more takes: one HTML file that needs nothing beside it.

Words first, then the findings with "hear bar 6" (that bar of the take, then as written), then the
picture, then every note for those who want it.  Sounds and pictures are inside the file; nothing
is asked of any other place.
"""

import re
from base64 import b64encode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from rhythmtrain.assess.findings import NoteFinding, Verdict
from rhythmtrain.remedies import remedy
from rhythmtrain.report.take.advice import Advice
from rhythmtrain.report.take.entry_rows import entry_rows
from rhythmtrain.report.take.flags import LITTLE
from rhythmtrain.report.take.heard_rows import SHAPES, heard_rows
from rhythmtrain.report.take.held_rows import held_rows
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.small_print import small_print, story
from rhythmtrain.report.take.text import MOST_ROWS, pace_told
from rhythmtrain.report.words import bar_in_words, count_in_words, milliseconds

MOST_NOTES = 2_000
# Where a drawing names one of its parts or points to it; two drawings on a page keep theirs apart.
IDENTITY = re.compile(r'((?<=\s)id="|href="#|url\(#)')
NEAR = (Verdict.IN_TIME, *LITTLE, Verdict.MISSED, Verdict.NOT_CHECKED)
CAPTION = (
    "The rhythm as written is black, with its counts above. Under it stands what was heard, seen "
    "from your own habit: early lies to the left, late to the right."
)
WORDS = {Verdict.MISSED: "not heard", Verdict.NOT_CHECKED: "not checked"}


@dataclass(frozen=True, slots=True)
class Section:
    """One take on the page.

    ``picture`` is an SVG document, "" where there is nothing to draw; ``clips`` holds an MP3 file
    for each bar that can be heard.  ``others`` are (name, how it went) of recordings that are not
    told of, ``teacher`` is what a teacher wrote.
    """

    heard: Heard
    said: Advice
    take: str
    picture: str
    clips: Mapping[int, bytes] = field(default_factory=dict)
    others: tuple[tuple[str, str], ...] = ()
    teacher: str = ""


def check_page(
    sections: Sequence[Section], *, title: str, words: Callable[[str], str] = str
) -> str:
    """Return the whole page as HTML text.

    ``words`` are those of the edge for which it is made.
    """
    page = Environment(
        loader=PackageLoader("rhythmtrain.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("check.html")  # fmt: skip
    facts = [_facts(section, number, words) for number, section in enumerate(sections, start=1)]
    return page.render(title=title, sections=facts)


def _facts(section: Section, number: int, words: Callable[[str], str]) -> dict[str, Any]:
    heard, findings = section.heard, section.heard.findings
    known = findings.looks_like is not False
    notes = findings.notes[:MOST_NOTES] if known else ()
    rows = _rows(heard) if known else []
    return {
        "title": heard.passage.title,
        "take": section.take,
        "pace": pace_told(heard),
        "story": [words(line) for line in story(findings)],
        "said": replace(section.said, first=words(section.said.first)),
        "command": words(remedy("type", section.said.command)),
        "picture": IDENTITY.sub(rf"\1s{number}-", section.picture),
        "caption": _caption(heard),
        "findings": rows[:MOST_ROWS],
        "findings_more": rows[MOST_ROWS:],
        "entries": entry_rows(findings, heard.passage) if known else (),
        "notes": [_note(note, heard) for note in notes],
        "notes_left": len(findings.notes) - len(notes) if known else 0,
        "noun": heard.playing.noun,
        "print": [words(line) for line in small_print(heard)],
        "held": held_rows(heard) if known else (),
        "others": section.others,
        "teacher": section.teacher,
        "clips": {
            bar: {"name": bar_in_words(bar), "sound": b64encode(sound).decode("ascii")}
            for bar, sound in section.clips.items()
        },
    }


def _rows(heard: Heard) -> list[dict[str, Any]]:
    """Return the rows of the table, of which the first of each bar lets one hear it."""
    rows = heard_rows(heard)
    bars = [row.bar for row in rows]
    return [{"row": row, "first": bars.index(row.bar) == number} for number, row in enumerate(rows)]


def _caption(heard: Heard) -> str:
    """Return how the picture is to be read, as far as there is something to read."""
    findings = heard.findings
    words = [CAPTION]
    if any(note.repeat > 1 for note in findings.notes):
        words.append("What came several times has a line for each, the first on top.")
    if any(entry.verdict not in NEAR for entry in findings.entries):
        words.append("After an entry at another count the marks are seen from where you came in.")
    return " ".join(words)


def _note(note: NoteFinding, heard: Heard) -> dict[str, Any]:
    side = ""
    if note.offset_s is not None:
        side = f"{milliseconds(note.offset_s)} {'late' if note.offset_s > 0 else 'early'}"
    what = WORDS.get(note.verdict, note.verdict.value)
    little = note.verdict in LITTLE and not note.plain
    return {
        "bar": note.bar or bar_in_words(note.bar),
        "count": count_in_words(heard.passage, note.bar, note.count),
        "repeat": note.repeat,
        "shape": SHAPES[Verdict.IN_TIME] if little else SHAPES.get(note.verdict, ""),
        "verdict": f"a little {what}" if little else what,
        "offset": side,
    }
