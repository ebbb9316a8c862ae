"""Packing: whole folders of drills as tracks, MIDI and one page, for a teacher to hand out.

Everything is made out of sight inside the folder and brought to its place when all of it is there,
so a stopped pack leaves an older one as it was.  What fails in one passage stops no other.
"""

from pathlib import Path

from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.rehearsal.both_cores import on_all_cores
from rhythmtrain.rehearsal.packing.files import Parcel, TrackJob, jobs_of, write_job
from rhythmtrain.rehearsal.packing.parcels import PAGE, Failed, noted, parcels_of, sources_of
from rhythmtrain.rehearsal.packing.sheet import SHEETS, pack_sheet
from rhythmtrain.rehearsal.packing.told import Brought, pack_told, packed
from rhythmtrain.rehearsal.packing.wish import PackWish, check_pack
from rhythmtrain.rehearsal.passages.sparing import check_spared
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.report.packs.page import pack_page
from rhythmtrain.storage.folders import brought_in, made_folder, out_of_sight
from rhythmtrain.storage.safely import told_plainly, write_bytes_safely


def make_pack(wish: PackWish, into: Path, *, progress: Progress = quietly) -> Told:
    """Write a pack of the passages into the folder ``into`` and return what is in it.

    What could not be made is in the document's ``failed``.

    Raises:
        RequestError: options out of range, or a file that is to be read would be lost.
        FileError: the folder cannot be written into.
        RhythmtrainError: what is wrong with the passage, where only one was asked for.
    """
    check_pack(wish)
    failed: Failed = {}
    sources = sources_of(wish, failed)
    parcels, warnings = parcels_of(sources, wish, failed)
    _spare_all(parcels, wish, into)
    made_folder(into)
    made: list[Brought] = []
    with out_of_sight(into) as hidden:
        warnings += _written(parcels, hidden, wish, failed, progress)
        for parcel in parcels:
            if parcel.source not in failed:
                with noted(parcel.source, failed):
                    files = brought_in(hidden / parcel.folder, into / parcel.folder)
                    made.append((parcel, files))
        sheets, unsaid = pack_sheet([(each.source, each.passage) for each, _ in made], into)
        if made:
            page = pack_page(
                [packed(each) for each, _ in made], sheet="".join(s.name for s in sheets)
            )
            write_bytes_safely(into / PAGE, page.encode("utf-8"))
    pages = (into / PAGE, *sheets) if made else ()
    return pack_told(made, into, pages, failed, [*warnings, *unsaid])


def _spare_all(parcels: list[Parcel], wish: PackWish, into: Path) -> None:
    """Refuse a pack that would write over any file from which it is made."""
    goals = [job.output for each in parcels for job in jobs_of(each, into / each.folder, wish)]
    read = [path for path in (wish.accompaniment, wish.beats) if path is not None]
    check_spared(
        [*goals, into / PAGE, *(into / name for name in SHEETS)],
        read=read,
        passages=[each.source for each in parcels],
        voice=wish.voice,
    )


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
