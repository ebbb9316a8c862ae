"""A whole MusicXML score: its parts, the bars they share, and the order in which these are played.

Both forms are read, part by part (``score-partwise``) and bar by bar (``score-timewise``).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from rhythmtrain.errors import FileError
from rhythmtrain.score.musicxml.bars import SharedBar, in_words, share_bars
from rhythmtrain.score.musicxml.container import score_markup
from rhythmtrain.score.musicxml.durations import number
from rhythmtrain.score.musicxml.markup import Node, parse
from rhythmtrain.score.musicxml.measure import Measure, read_measure
from rhythmtrain.score.musicxml.shorthand import written_out
from rhythmtrain.score.musicxml.standing import Standing
from rhythmtrain.score.passage import MOST_BARS

MOST_PARTS = 200
LONGEST_NAME = 60
PARTWISE, TIMEWISE = "score-partwise", "score-timewise"
# General MIDI 1 programs from 1: pianos, harpsichord, celesta, organs, accordions.
KEYBOARD_PROGRAMS = frozenset({*range(1, 10), *range(17, 25)})
KEYBOARD_NAMES = re.compile(
    r"\b(piano|pianoforte|pno|klavier|keyboard|organ|orgel|harpsichord|cembalo|celesta|accordion"
    r"|harmonium|clavichord|fortepiano)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Part:
    """One part: its number from 1, its name, whether it is a keyboard's, and its bars.

    ``written_up`` is by how many semitones it is written above what sounds (2 for a clarinet in Bb).
    """

    number: int
    name: str
    keyboard: bool
    measures: tuple[Measure, ...]
    written_up: int = 0

    @property
    def sounds(self) -> bool:
        """Return whether it has a note at all."""
        return any(measure.sounds for measure in self.measures)


@dataclass(frozen=True, slots=True)
class Score:
    """A score: ``name`` of its file, title, parts, shared bars, and remarks on what did not fit."""

    name: str
    title: str
    parts: tuple[Part, ...]
    bars: tuple[SharedBar, ...]
    remarks: tuple[str, ...] = ()


def read_score(data: bytes, *, name: str) -> Score:
    """Return the score in the bytes of a MusicXML file, plain or zipped.

    Raises:
        FileError: no MusicXML, damaged, or hostile; one line that says what is wrong.
    """
    root = parse(score_markup(data, name=name), name=name)
    if root.tag not in (PARTWISE, TIMEWISE):
        raise FileError(f"{name} is no MusicXML score: it begins with {root.tag[:40]!r}")
    listed = _listed(root)
    columns = _partwise(root) if root.tag == PARTWISE else _timewise(root, list(listed))
    if not columns or not any(columns.values()):
        raise FileError(f"{name} holds no bars of music")
    longest = max(map(len, columns.values()))
    if longest > MOST_BARS or len(columns) > MOST_PARTS:
        raise FileError(
            f"{name} has {longest} bars and {len(columns)} parts; at most {MOST_BARS} and "
            f"{MOST_PARTS} are read"
        )
    parts = tuple(
        _part(place, listed.get(each), measures)
        for place, (each, measures) in enumerate(columns.items(), start=1)
    )
    bars, misfits = share_bars([part.measures for part in parts])
    remarks = tuple(in_words(misfits, [part.name for part in parts]))
    return Score(name, _title(root), parts, bars, remarks)


def _listed(root: Node) -> dict[str, Node]:
    """Return what the list of parts says, by the parts' ids."""
    found = root.child("part-list")
    return {} if found is None else {part.get("id") or "": part for part in found.all("score-part")}


def _partwise(root: Node) -> dict[str, list[Node]]:
    columns: dict[str, list[Node]] = {}
    for part in root.all("part"):
        columns.setdefault(part.get("id") or "", []).extend(part.all("measure"))
    return columns


def _timewise(root: Node, ids: list[str]) -> dict[str, list[Node]]:
    """Return the bars of each part; a part that a bar lacks has an empty one there."""
    measures = list(root.all("measure"))
    found = [{part.get("id") or "": part for part in measure.all("part")} for measure in measures]
    names = dict.fromkeys([*ids, *(name for parts in found for name in parts)])
    columns: dict[str, list[Node]] = {name: [] for name in names}
    for measure, parts in zip(measures, found, strict=True):
        for name, column in columns.items():
            bar = Node("measure", measure.attributes)
            bar.children = parts[name].children if name in parts else []
            column.append(bar)
    return columns


def _part(place: int, listed: Node | None, nodes: list[Node]) -> Part:
    standing = Standing()
    measures = tuple(written_out(read_measure(node, standing) for node in nodes))
    name = f"part {place}"
    if listed is not None:
        name = " ".join(listed.text_of("part-name").split())[:LONGEST_NAME] or name
    keyboard = bool(KEYBOARD_NAMES.search(name)) or _plays_keys(listed) or standing.staves > 1
    return Part(place, name, keyboard, measures, -standing.transposed)


def _plays_keys(listed: Node | None) -> bool:
    """Return whether the list of parts names a keyboard as a part's instrument."""
    return listed is not None and any(_keyboards(listed))


def _keyboards(listed: Node) -> Iterator[bool]:
    for midi in listed.all("midi-instrument"):
        program = number(midi.text_of("midi-program"))
        channel = number(midi.text_of("midi-channel"))
        yield program is not None and int(program) in KEYBOARD_PROGRAMS and channel != 10  # noqa: PLR2004
    for instrument in listed.all("score-instrument"):
        yield instrument.text_of("instrument-sound").startswith("keyboard.")


def _title(root: Node) -> str:
    work = root.child("work")
    titles = ["" if work is None else work.text_of("work-title"), root.text_of("movement-title")]
    return ", ".join(dict.fromkeys(" ".join(title.split()) for title in titles if title.strip()))
