"""What goes into a pack: passages found, with their recordings, each with its folder and its files."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from rhythmtrain.coach.ladder import ladder
from rhythmtrain.coach.practice_order import Step
from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.prompts.fading import RHYTHM
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.cueing.cue import CueWish
from rhythmtrain.rehearsal.packing.cue import cue_said
from rhythmtrain.rehearsal.packing.entry import SPEEDS, course_tracks, entry_goal
from rhythmtrain.rehearsal.packing.files import Parcel
from rhythmtrain.rehearsal.packing.recorded import Beside, at_recorded_tempo
from rhythmtrain.rehearsal.packing.sheet import SHEETS
from rhythmtrain.rehearsal.packing.tracks import pack_tracks
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.passages.passages import find_passage, whole_passage
from rhythmtrain.rehearsal.recorded.accompaniment import (
    NO_FILES,
    has_accompaniment,
    has_model,
    model_for,
)
from rhythmtrain.rehearsal.tracks.model import Taught
from rhythmtrain.report.packs.text import clash_words
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.drills import passages_at
from rhythmtrain.storage.folders import distinct, safe_name
from rhythmtrain.storage.scores import is_score

PAGE = "index.html"

Failed = dict[str, str]


def sources_of(wish: PackWish, failed: Failed) -> list[Path]:
    """Return every drill file and score once, in the order asked for."""
    found: dict[Path, Path] = {}
    for name in wish.passages:
        with noted(name, failed, alone=len(wish.passages) == 1):
            for path in passages_at(name):
                found.setdefault(path.resolve(), path)
    return list(found.values())


def parcels_of(
    sources: list[Path], wish: PackWish, failed: Failed
) -> tuple[list[Parcel], list[str]]:
    """Return what is to be packed, and what to say of passages whose names clash."""
    read: list[tuple[str, Parcel]] = []
    said: list[str] = []
    alone = len(wish.passages) == len(sources) == 1
    for path in sources:
        with noted(str(path), failed, alone=alone):
            read.append((safe_name(path.stem), _found(str(path), wish, said, alone=alone)))
    names = [name for name, _ in read]
    parcels = []
    for (name, bare), folder in zip(read, distinct(names, taken=(PAGE, *SHEETS)), strict=True):
        with noted(bare.source, failed, alone=alone):
            parcels.append(_parcel(replace(bare, folder=folder), wish))
        if folder != name:
            said.append(clash_words(bare.source, name, folder))
    return parcels, said


def _parcel(bare: Parcel, wish: PackWish) -> Parcel:
    """Return ``bare`` with its tempi and its files: a ladder, or tries at an entry."""
    goal = entry_goal(bare.passage, wish.entry_bar, bare.beside) if wish.is_course else None
    passage = bare.passage if goal is None else goal.passage
    rungs = wish.rungs or SPEEDS if goal is not None else wish.rungs
    tempi = ladder(passage.tempo, slowest=wish.slowest, rungs=rungs)
    recorded = bare.beside is not None
    if goal is not None:
        tries = tuple(course_tracks(goal, tempi, wish.ending, recorded=recorded))
        asked = CueWish(bare.source, part=bare.part, cue_part=bare.cue_part, entry=goal.entry.bar)
        cue = cue_said(asked, bare.passage)
        return replace(bare, passage=passage, tempi=tempi, goal=goal, tries=tries, cue=cue)
    without = () if wish.heard & RHYTHM else (Step.ECHO,)
    tracks = tuple(pack_tracks(tempi, wish.ending, without=without))
    return replace(bare, tempi=tempi, tracks=tracks)


def _found(name: str, wish: PackWish, said: list[str], *, alone: bool) -> Parcel:
    """Return a passage, its accompaniment and its model, where these are to be heard.

    With several passages, a part is asked of those that are scores.
    """
    scores = alone or is_score(name)
    part, cue_part = (wish.part, wish.cue_part) if scores else (None, None)
    passage = find_passage(
        name,
        wish.bars,
        part=part,
        cue_part=cue_part,
        say=lambda sentence: said.append(f"{name}: {sentence}"),
    )
    named = wish.is_course and (wish.files != NO_FILES or has_accompaniment(name))
    recorded = named or Layer.ACCOMPANIMENT in wish.heard
    modelled = not wish.is_course and has_model(name)
    if not (recorded or modelled):
        return Parcel(name, passage, part=part, cue_part=cue_part)
    whole = whole_passage(name, part=part, cue_part=cue_part)
    taught = _taught(name, passage, whole, said) if modelled else None
    if not recorded:
        return Parcel(name, passage, taught=taught)
    beside = Beside(name, whole, wish.files)
    played = passage if wish.is_course else at_recorded_tempo(passage, beside)
    return Parcel(name, played, beside=beside, taught=taught, part=part, cue_part=cue_part)


def _taught(name: str, passage: Passage, whole: Passage, said: list[str]) -> Taught | None:
    """Return the passage with its model; None where that does not read, and why is ``said``."""
    try:
        model_for(name, passage, whole=whole)
    except RhythmtrainError as error:
        said.append(f"{name} is packed without its model: {error}")
        return None
    return Taught(name, whole)


@contextmanager
def noted(source: str, failed: Failed, *, alone: bool = False) -> Iterator[None]:
    """Note what goes wrong with ``source`` and go on; raise it where nothing else was asked for."""
    try:
        yield
    except RhythmtrainError as error:
        if alone:
            raise
        failed[source] = str(error)
