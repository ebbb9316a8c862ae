"""The report page of one or more takes: one HTML file that needs nothing beside it.

Words first, then the findings with "hear bar 6" (that bar of the take, then as written), then the
picture, then every note for those who want it.  Sounds and pictures are inside the file; nothing
is asked of any other place.
"""

from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from rhythmtrain.assess.findings import NoteFinding, Verdict
from rhythmtrain.report.advice import Advice
from rhythmtrain.report.check_text import small_print, tempo_in_words, told, tries_in_words
from rhythmtrain.report.entry_rows import entry_rows
from rhythmtrain.report.flags import Flag
from rhythmtrain.report.praise import Heard
from rhythmtrain.report.words import bars_in_words, count_in_words, milliseconds

SHAPES = {
    Verdict.EARLY: "◀ early",
    Verdict.LATE: "▶ late",
    Verdict.MISSED: "○ not heard",
    Verdict.IN_TIME: "· in time",
    Verdict.NOT_CHECKED: "not checked",
}


@dataclass(frozen=True, slots=True)
class Section:
    """One take on the page; ``clips`` holds an MP3 file for each bar that can be heard."""

    heard: Heard
    said: Advice
    take: str
    picture: str
    clips: Mapping[int, bytes] = field(default_factory=dict)


def check_page(sections: Sequence[Section], *, title: str) -> str:
    """Return the whole page as HTML text."""
    page = Environment(
        loader=PackageLoader("rhythmtrain.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("check.html")  # fmt: skip
    return page.render(title=title, sections=[_facts(section) for section in sections])


def _facts(section: Section) -> dict[str, Any]:
    heard, findings = section.heard, section.heard.findings
    return {
        "title": heard.passage.title,
        "about": heard.passage.about,
        "take": section.take,
        "tempo": tempo_in_words(heard.passage, findings.speed),
        "tries": tries_in_words(findings),
        "said": section.said,
        "picture": section.picture,
        "findings": [_finding(flag, section) for flag in heard.flags],
        "mistakes": [
            {"bar": each.bar, "count": count_in_words(heard.passage, each.bar, each.count),
             "what": each.what}
            for each in findings.mistakes
        ],
        "entries": entry_rows(findings, heard.passage),
        "notes": [_note(note, heard) for note in findings.notes],
        "print": small_print(findings),
        "bars": bars_in_words(sorted(section.clips)) if section.clips else "",
        "clips": {bar: b64encode(sound).decode("ascii") for bar, sound in section.clips.items()},
    }  # fmt: skip


def _finding(flag: Flag, section: Section) -> dict[str, Any]:
    return {
        "bar": flag.bar,
        "count": count_in_words(section.heard.passage, flag.bar, flag.count),
        "shape": SHAPES[flag.verdict][0],
        "what": told(flag),
    }


def _note(note: NoteFinding, heard: Heard) -> dict[str, Any]:
    side = ""
    if note.offset_s is not None:
        side = f"{milliseconds(note.offset_s)} {'late' if note.offset_s > 0 else 'early'}"
    return {
        "bar": note.bar,
        "count": count_in_words(heard.passage, note.bar, note.count),
        "repeat": note.repeat,
        "verdict": SHAPES[note.verdict],
        "offset": side,
    }
