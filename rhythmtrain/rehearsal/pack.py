"""Packing: whole folders of drills as tracks, MIDI and one page, for a teacher to hand out.

Everything is made out of sight inside the folder and brought to its place when all of it is there,
so a stopped pack leaves an older one as it was.  What fails in one passage stops no other.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from rhythmtrain.coach.ladder import ladder
from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.tempo_words import tempo_words
from rhythmtrain.rehearsal.accompaniment import NO_FILES, has_accompaniment
from rhythmtrain.rehearsal.both_cores import on_all_cores
from rhythmtrain.rehearsal.pack_entry import SPEEDS, course_tracks, entry_goal
from rhythmtrain.rehearsal.pack_files import Parcel, TrackJob, jobs_of, write_job
from rhythmtrain.rehearsal.pack_recorded import NOT_BESIDE, Beside, at_recorded_tempo
from rhythmtrain.rehearsal.pack_sheet import SHEETS, pack_sheet
from rhythmtrain.rehearsal.pack_tracks import pack_tracks
from rhythmtrain.rehearsal.pack_wish import PackWish, check_pack
from rhythmtrain.rehearsal.passages import find_passage, whole_passage
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.report.entry_course_text import entry_in_words
from rhythmtrain.report.pack_entry import PackedEntry, PackedTry, begins_in_words
from rhythmtrain.report.pack_page import PackedPassage, PackedTrack, pack_page
from rhythmtrain.report.pack_text import (
    clash_words,
    failed_words,
    made_text,
    size_words,
    value_words,
)
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.drills import passages_at
from rhythmtrain.storage.folders import brought_in, distinct, made_folder, out_of_sight, safe_name
from rhythmtrain.storage.safely import told_plainly, write_bytes_safely
from rhythmtrain.storage.scores import is_score

PAGE = "index.html"

Failed = dict[str, str]


def make_pack(wish: PackWish, into: Path, *, progress: Progress = quietly) -> Told:
    """Write a pack of the passages into the folder ``into`` and return what is in it.

    What could not be made is in the document's ``failed``.

    Raises:
        RequestError: options out of range.
        FileError: the folder cannot be written into.
        RhythmtrainError: what is wrong with the passage, where only one was asked for.
    """
    check_pack(wish)
    failed: Failed = {}
    sources = _sources(wish, failed)
    parcels, warnings = _parcels(sources, wish, failed)
    made_folder(into)
    made: list[tuple[Parcel, tuple[Path, ...]]] = []
    with out_of_sight(into) as hidden:
        warnings += _written(parcels, hidden, wish, failed, progress)
        for parcel in parcels:
            if parcel.source not in failed:
                with _noted(parcel.source, failed):
                    files = brought_in(hidden / parcel.folder, into / parcel.folder)
                    made.append((parcel, files))
        sheets, unsaid = pack_sheet([(each.source, each.passage) for each, _ in made], into)
        if made:
            page = pack_page(
                [_packed(each) for each, _ in made], sheet="".join(s.name for s in sheets)
            )
            write_bytes_safely(into / PAGE, page.encode("utf-8"))
    return _told(made, into, failed, [*warnings, *unsaid], sheets)


def _sources(wish: PackWish, failed: Failed) -> list[Path]:
    """Return every drill file and score once, in the order asked for."""
    found: dict[Path, Path] = {}
    for name in wish.passages:
        with _noted(name, failed, alone=len(wish.passages) == 1):
            for path in passages_at(name):
                found.setdefault(path.resolve(), path)
    return list(found.values())


def _parcels(sources: list[Path], wish: PackWish, failed: Failed) -> tuple[list[Parcel], list[str]]:
    """Return what is to be packed, and what to say of passages whose names clash."""
    read: list[tuple[Path, Passage, Beside | None]] = []
    said: list[str] = []
    alone = len(wish.passages) == len(sources) == 1
    for path in sources:
        with _noted(str(path), failed, alone=alone):
            read.append((path, *_found(str(path), wish, said, alone=alone)))
    names = [safe_name(path.stem) for path, _, _ in read]
    parcels, warnings = [], [*said]
    for (path, passage, beside), name, folder in zip(
        read, names, distinct(names, taken=(PAGE, *SHEETS)), strict=True
    ):
        with _noted(str(path), failed, alone=alone):
            parcels.append(_parcel(Parcel(str(path), passage, folder, (), beside=beside), wish))
        if folder != name:
            warnings.append(clash_words(str(path), name, folder))
    return parcels, warnings


def _parcel(bare: Parcel, wish: PackWish) -> Parcel:
    """Return ``bare`` with its tempi and its files: a ladder, or tries at an entry."""
    goal = entry_goal(bare.passage, wish.entry_bar, bare.beside) if wish.is_course else None
    passage = bare.passage if goal is None else goal.passage
    rungs = wish.rungs or SPEEDS if goal is not None else wish.rungs
    tempi = ladder(passage.tempo, slowest=wish.slowest, rungs=rungs)
    recorded = bare.beside is not None
    if goal is not None:
        tries = tuple(course_tracks(goal, tempi, wish.ending, recorded=recorded))
        return replace(bare, passage=passage, tempi=tempi, goal=goal, tries=tries)
    without = NOT_BESIDE if recorded else ()
    tracks = tuple(pack_tracks(tempi, wish.ending, without=without))
    return replace(bare, tempi=tempi, tracks=tracks)


def _found(
    name: str, wish: PackWish, said: list[str], *, alone: bool
) -> tuple[Passage, Beside | None]:
    """Return a passage, and its recording where that is to be heard.

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
    if not named and Layer.ACCOMPANIMENT not in wish.heard:
        return passage, None
    beside = Beside(name, whole_passage(name, part=part, cue_part=cue_part), wish.files)
    return (passage if wish.is_course else at_recorded_tempo(passage, beside)), beside


def _written(
    parcels: list[Parcel], hidden: Path, wish: PackWish, failed: Failed, progress: Progress
) -> list[str]:
    """Write every file into ``hidden``, and return the words that were left unsaid."""
    jobs: list[TrackJob] = []
    sources: list[str] = []
    for parcel in parcels:
        folder = hidden / parcel.folder
        with told_plainly(folder):
            folder.mkdir()
        for job in jobs_of(parcel, folder, wish):
            jobs.append(job)
            sources.append(parcel.source)
    unsaid: dict[str, None] = {}
    for source, outcome in zip(sources, on_all_cores(write_job, jobs, progress), strict=True):
        if isinstance(outcome, RhythmtrainError):
            failed.setdefault(source, str(outcome))
        else:
            unsaid |= dict.fromkeys(outcome)
    return list(unsaid)


@contextmanager
def _noted(source: str, failed: Failed, *, alone: bool = False) -> Iterator[None]:
    """Note what goes wrong with ``source`` and go on; raise it where nothing else was asked for."""
    try:
        yield
    except RhythmtrainError as error:
        if alone:
            raise
        failed[source] = str(error)


def _packed(parcel: Parcel) -> PackedPassage | PackedEntry:
    """Return what the page says and plays of a passage."""
    passage, goal = parcel.passage, parcel.goal
    words = {tempo: tempo_words(passage, tempo / passage.tempo) for tempo in parcel.tempi}
    if goal is not None:
        heard = excerpt(passage, passage.bars[0].number, passage.bars[goal.last].number)
        return PackedEntry(
            heard,
            parcel.folder,
            entry_in_words(passage, goal.entry),
            tuple(
                PackedTry(
                    each.help.name,
                    begins_in_words(each.tried, each.begins),
                    words[each.tempo],
                    f"{parcel.folder}/{each.file}",
                    f"{parcel.folder}/{each.answer}",
                )
                for each in parcel.tries
            ),
            recorded=parcel.beside is not None,
        )
    return PackedPassage(
        passage,
        parcel.folder,
        tracks=tuple(
            PackedTrack(track.step, words[track.tempo], f"{parcel.folder}/{track.file}")
            for track in parcel.tracks
            if track.step is not None
        ),
        midi=tuple(
            (words[track.tempo], f"{parcel.folder}/{track.file}")
            for track in parcel.tracks
            if track.step is None
        ),
        recorded=parcel.beside is not None,
    )


def _course(parcel: Parcel) -> dict[str, Any]:
    """Return what is told besides of a course: the entry, and each try at it."""
    if parcel.goal is None:
        return {}
    entry = parcel.goal.entry
    tries = [
        {
            "file": each.file,
            "answer": each.answer,
            "tempo": each.tempo,
            "help": each.help.name,
            "from_bar": each.begins,
            "lead_bars": each.tried.lead,
            "from_top": each.tried.from_top,
        }
        for each in parcel.tries
    ]
    return {"entry": {"bar": entry.bar, "count": entry.count}, "tries": tries}


def _told(
    made: list[tuple[Parcel, tuple[Path, ...]]],
    into: Path,
    failed: Failed,
    warnings: list[str],
    sheets: tuple[Path, ...],
) -> Told:
    page = into / PAGE
    pages = (page, *sheets) if made else ()
    files = tuple(file for _, brought in made for file in brought) + pages
    document = {
        "page": str(page) if made else None,
        "sheet": str(sheets[0]) if sheets else None,
        "passages": [
            {
                "name": Path(parcel.source).stem,
                "title": parcel.passage.title,
                "folder": str(into / parcel.folder),
                "tempi": list(parcel.tempi),
                "files": [file.name for file in brought],
                **_course(parcel),
            }
            for parcel, brought in made
        ],
        "failed": [{"passage": passage, "why": why} for passage, why in failed.items()],
    }
    ladders = [(parcel.folder, value_words(parcel.passage), parcel.tempi) for parcel, _ in made]
    size = size_words(len(files), sum(file.stat().st_size for file in files))
    text = made_text(ladders, page=str(page), size=size)
    failure = failed_words(tuple(failed.items()), len(failed) + len(made)) if failed else ""
    return Told(text, document, files, tuple(warnings), failure)
