"""The page of a pack: it plays the tracks beside it, in practice order, with boxes to tick.

It is one HTML file with its look and its script inside, for any phone, also from a folder and
without a network: it asks nothing of any other place, and what it plays is named relative to it.
Without script the browser's own controls play the tracks.  Ticks are kept in the browser.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from rhythmtrain.coach.practice_order import Step
from rhythmtrain.report.packs.entry import PackedEntry, entry_facts
from rhythmtrain.report.packs.facts import drawn_twice, facts_line, said_of, short_tempo
from rhythmtrain.report.packs.text import (
    AFTERWARDS,
    CAUTIONS,
    FASTER,
    RUNG_WORDS,
    STEP_WORDS,
    page_title,
)
from rhythmtrain.score.difficulty.hard import hard_spots
from rhythmtrain.score.passage import Passage

Facts = dict[str, Any]


@dataclass(frozen=True, slots=True)
class PackedTrack:
    """One sound file; ``tempo`` in words ("quarter = 36"), ``file`` relative to the page."""

    step: Step
    tempo: str
    file: str


@dataclass(frozen=True, slots=True)
class PackedPassage:
    """One passage of a pack: its tracks in practice order, its MIDI files as (tempo, file)."""

    passage: Passage
    folder: str
    tracks: tuple[PackedTrack, ...]
    midi: tuple[tuple[str, str], ...]
    recorded: bool = False


def pack_page(packed: Sequence[PackedPassage | PackedEntry], *, sheet: str = "") -> str:
    """Return the whole page as HTML text; ``sheet`` is the practice sheet's file beside it, if any."""
    return _template().render(
        title=page_title([each.passage.title for each in packed]),
        passages=[_any_facts(each, f"p{place}") for place, each in enumerate(packed, start=1)],
        sheet=sheet,
        cautions=CAUTIONS,
        faster=FASTER,
        afterwards=AFTERWARDS,
    )


@cache
def _template() -> Template:
    return Environment(
        loader=PackageLoader("rhythmtrain.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("pack.html")  # fmt: skip


def _any_facts(packed: PackedPassage | PackedEntry, name: str) -> Facts:
    return entry_facts(packed, name) if isinstance(packed, PackedEntry) else _facts(packed, name)


def _facts(packed: PackedPassage, name: str) -> Facts:
    passage = packed.passage
    spots = hard_spots(passage)
    slow, *rungs = _rungs(packed)
    return {
        "id": name,
        "title": passage.title,
        "about": passage.about,
        "facts": facts_line(passage, packed.tracks[-1].tempo, recorded=packed.recorded),
        "value": slow[0].tempo.partition(" = ")[0],
        "ladder": [
            {"tempo": short_tempo(rung[0].tempo), "at": f"{name}-{place}"}
            for place, rung in enumerate((slow, *rungs))
        ],
        **drawn_twice(passage, spots),
        "said": said_of(passage, spots),
        "steps": [
            _step(packed, track, f"{name}-{place}" if place == 0 else f"{name}-0-{place}")
            for place, track in enumerate(slow)
        ],
        "rungs": [
            {
                "id": f"{name}-{place}",
                "tick": f"{packed.folder}/faster/{short_tempo(rung[0].tempo)}",
                "tempo": rung[0].tempo,
                "tracks": [
                    _track(packed, track, name, button=RUNG_WORDS[track.step]) for track in rung
                ],
            }
            for place, rung in enumerate(rungs, start=1)
        ],
        "midi": [
            {"file": file, "tempo": tempo, "short": short_tempo(tempo)}
            for tempo, file in packed.midi
        ],
    }


def _rungs(packed: PackedPassage) -> Iterator[tuple[PackedTrack, ...]]:
    """Yield the tracks of each tempo, in practice order."""
    tempi = dict.fromkeys(track.tempo for track in packed.tracks)
    for tempo in tempi:
        yield tuple(track for track in packed.tracks if track.tempo == tempo)


def _step(packed: PackedPassage, track: PackedTrack, name: str) -> Facts:
    title, how = STEP_WORDS[track.step]
    return {
        "id": name,
        "tick": f"{packed.folder}/{track.step}",
        "name": title,
        "tempo": track.tempo,
        "how": how,
        "tracks": [_track(packed, track, name.partition("-")[0], button=title)],
    }


def _track(packed: PackedPassage, track: PackedTrack, name: str, *, button: str) -> Facts:
    return {
        "id": f"{name}-t{packed.tracks.index(track)}",
        "name": STEP_WORDS[track.step][0],
        "button": button,
        "tempo": track.tempo,
        "label": f"{button}, {track.tempo}",
        "file": track.file,
    }
