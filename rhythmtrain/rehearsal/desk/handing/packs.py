"""Packs at the page: one passage or several, as one file to hand out.

What is in a pack is made by the same room as for ``rhythmtrain pack``; here it is put into a zip file,
because a browser brings no folder.
"""

import secrets
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from zipfile import ZIP_STORED, ZipFile

from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_file import Fetched
from rhythmtrain.rehearsal.desk.own_voice import voice_for
from rhythmtrain.rehearsal.desk.shelf import passage_path, plain_stem, shelf
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.packing.pack import make_pack
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.storage.drills import drill_path
from rhythmtrain.storage.settings import preferences

MOST_PASSAGES = 100
ZIP = "application/zip"
Document = dict[str, Any]


def pack_made(sitting: Sitting, packs: Lately[Fetched], asked: Asked) -> Document:
    """Make one pack of "passages", names of the shelf in the order in which they are practised.

    "slowest" (a share of the written tempo), "rungs", "ending", "layers" and "entry" are those of
    ``rhythmtrain pack``.  What could not be made is in "failed" and stops nothing else.

    Raises:
        RequestError: no passage, one that is not there, options out of range, or nothing was made.
    """
    titles = titles_of(sitting, asked)
    path = sitting.passing / f"{secrets.token_hex(8)}.zip"
    try:
        told = pack_zipped(_wish(sitting, tuple(titles), asked), path)
    except RhythmtrainError as error:
        raise RequestError(told_by_title(str(error), titles)) from error
    failed = [
        told_by_title(f"{each['passage']}: {each['why']}", titles)
        for each in told.document["failed"]
    ]
    made = [each["title"] for each in told.document["passages"]]
    if not made:
        path.unlink()
        raise RequestError(f"nothing could be made: {'; '.join(failed)}")
    return {
        "pack": packs.keep(Fetched(path, f"{called_after(made)}-pack.zip", ZIP)),
        "titles": made,
        "failed": failed,
        "said": [told_by_title(each, titles) for each in told.warnings],
    }


def pack_zipped(wish: PackWish, path: Path) -> Told:
    """Make the pack of ``wish`` as the zip file ``path``, and return what is told of it."""
    folder = path.with_suffix("")
    try:
        told = make_pack(wish, folder)
        with ZipFile(path, "w", ZIP_STORED) as file:
            for each in sorted(folder.rglob("*")):
                if each.is_file():
                    file.write(each, each.relative_to(folder).as_posix())
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return told


def pack_wish(sitting: Sitting, paths: tuple[str, ...]) -> PackWish:
    """Return what is to be packed of ``paths``, in the language and the voice that are set."""
    language = preferences().language
    return PackWish(paths, language=language, voice=voice_for(sitting, language))


def _wish(sitting: Sitting, paths: tuple[str, ...], asked: Asked) -> PackWish:
    usual = pack_wish(sitting, paths)
    return replace(
        usual,
        slowest=asked.number("slowest", usual.slowest),
        rungs=None if asked.maybe_number("rungs") is None else asked.whole("rungs"),
        ending=asked.text("ending", usual.ending),
        layers=asked.maybe_text("layers"),
        entry=asked.truth("entry"),
    )


def titles_of(sitting: Sitting, asked: Asked) -> dict[str, str]:
    """Return what the passages that are asked for are called, by their paths, each once."""
    known = shelf(sitting)
    titles = {each["name"]: each["title"] for each in (*known["own"], *known["supplied"])}
    names = [Asked({"passage": each}) for each in asked.rows("passages", MOST_PASSAGES)]
    if not names:
        raise RequestError("choose at least one passage for the pack")
    chosen = [each.text("passage") for each in names]
    return {passage_path(sitting, name): titles[name] for name in chosen}


def told_by_title(sentence: str, titles: Mapping[str, str]) -> str:
    """Return what is said of a passage, by the title that the person knows instead of its path."""
    for path, title in titles.items():
        for name in (str(drill_path(path)), path, Path(path).name):
            sentence = sentence.replace(name, title)
    return sentence


def called_after(titles: Sequence[str]) -> str:
    """Return what a file with the passages ``titles`` is called after."""
    return plain_stem(titles[0]) if len(titles) == 1 else f"{len(titles)}-passages"
