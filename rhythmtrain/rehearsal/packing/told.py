"""What is told of a pack: its page's rows, the document for programs, and the words for a person."""

from pathlib import Path
from typing import Any

from rhythmtrain.prompts.tempo_words import tempo_words
from rhythmtrain.rehearsal.packing.files import Parcel
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.packs.entry import PackedEntry, PackedTry, begins_in_words
from rhythmtrain.report.packs.page import PackedPassage, PackedTrack
from rhythmtrain.report.packs.text import failed_words, made_text, size_words, value_words
from rhythmtrain.report.take.entry_course import entry_in_words
from rhythmtrain.score.excerpt import excerpt

Brought = tuple[Parcel, tuple[Path, ...]]


def packed(parcel: Parcel) -> PackedPassage | PackedEntry:
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
            cue=parcel.cue,
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


def pack_told(
    made: list[Brought],
    into: Path,
    pages: tuple[Path, ...],
    failed: dict[str, str],
    warnings: list[str],
) -> Told:
    """Return what is told of the parcels ``made`` in the folder ``into``, and of what ``failed``.

    ``pages`` are the page to listen on and the sheets, none where nothing was made.
    """
    page = str(pages[0]) if pages else ""
    files = tuple(file for _, brought in made for file in brought) + pages
    document = {
        "page": page or None,
        "sheet": str(pages[1]) if len(pages) > 1 else None,
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
    text = made_text(ladders, page=page, size=size)
    failure = failed_words(tuple(failed.items()), len(failed) + len(made)) if failed else ""
    return Told(text, document, files, tuple(warnings), failure)
