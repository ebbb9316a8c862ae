"""The MusicXML files that music21 ships, and what partitura reads in them.

Each part's onsets are told as (index of the bar, quarters into it), because both libraries keep every
part on a timeline of its own, where parts fall out of step.  Grace notes, which take no time, are
left out, and so are cue notes.
"""

import contextlib
import io
import warnings
from bisect import bisect_right
from pathlib import Path

from rhythmtrain.score.musicxml.document import read_score
from rhythmtrain.score.musicxml.ties import file_starts, joined_notes

SAME_QUARTERS = 0.02
Onsets = list[tuple[int, float]]

# Parts read otherwise than by partitura: file and part, and why.
DIFFERENCES: dict[tuple[str, int], str] = {
    ("beethoven/opus18no1/movement1.mxl", 1): "dotted sixteenth with the duration of an eighth in "
    "divisions of 4: what is printed cannot be written in them, so it is believed",
    ("beethoven/opus59no3/movement2.mxl", 1): "voice 2 runs an eighth past the end of the bar, "
    "which voice 1 fills exactly: what lies past it is left out",
    ("schumann_robert/dichterliebe_no2.xml", 2): "tied unisons in two voices: partitura begins one "
    "of them again",
    ("schumann_robert/opus48no2.mxl", 2): "the same piece, the same unisons",
    ("schumann_robert/opus41no1/movement1.mxl", 3): "divisions of 17, in which no eighth can be "
    "written: the printed eighths are believed",
    ("trecento/PMFC_24_17-Doctorum principem-Melodia suavissima-Vir mitis.xml", 3): "dotted "
    "quarters with a duration of 2 in divisions of 1: what is printed is believed",
    ("trecento/PMFC_24_17-Doctorum principem-Melodia suavissima-Vir mitis.xml", 4): "the same",
    ("weber/concertino_clarinet.mxl", 2): "a bar of the piano written twice over in the file, "
    "twice as long as the clarinet's: what lies past the bar is left out",
}
# Files that partitura 1.9 cannot read (a traceback each).
UNREAD = {
    "demos/drum_sample.xml",
    "schumann_robert/opus41no1/movement4.mxl",
    "trecento/PMFC_13_07-Gloria Laus Honor.xml",
}


def corpus() -> tuple[Path, list[str]]:
    """Return the corpus's folder and the MusicXML files in it, by their names there."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21.corpus  # noqa: PLC0415  (slow to import, and only needed here)

    folder = Path(str(music21.corpus.__file__)).parent
    endings = {".xml", ".mxl", ".musicxml"}
    paths = sorted(path for path in folder.rglob("*") if path.suffix in endings)
    return folder, [path.relative_to(folder).as_posix() for path in paths]


def our_onsets(path: Path) -> list[Onsets]:
    """Return the onsets of each part as the package reads them."""
    read = read_score(path.read_bytes(), name=path.name)
    starts = file_starts(read.bars)
    return [
        sorted({
            (note.bar, float(note.at - starts[note.bar]))
            for note in joined_notes(part.measures, read.bars)
            if not note.cue
        })
        for part in read.parts
    ]  # fmt: skip


def their_onsets(path: Path) -> list[Onsets]:
    """Return the onsets of each part as partitura reads them."""
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        import partitura  # noqa: PLC0415  (slow to import, and only needed here)

        parts = partitura.load_musicxml(str(path)).parts
        grace = partitura.score.GraceNote
        found = []
        for part in parts:
            bars = sorted({bar.start.t for bar in part.iter_all(partitura.score.Measure)})
            ticks = sorted({
                note.start.t for note in part.notes_tied if not isinstance(note, grace)
            })  # fmt: skip
            quarters = part.quarter_map
            places = [(bisect_right(bars, tick) - 1, tick) for tick in ticks]
            found.append([
                (bar, float(quarters(tick)) - float(quarters(bars[bar]))) for bar, tick in places
            ])  # fmt: skip
    return found


def same(ours: Onsets, theirs: Onsets) -> bool:
    """Return whether two parts have the same onsets, to a fiftieth of a quarter."""
    return len(ours) == len(theirs) and all(
        bar == other and abs(at - there) < SAME_QUARTERS
        for (bar, at), (other, there) in zip(ours, theirs, strict=True)
    )


def compared(folder: Path, names: list[str]) -> tuple[int, set[tuple[str, int]]]:
    """Return how many parts were compared, and which differ (file, number of the part)."""
    count = 0
    differing = set()
    for name in names:
        if name in UNREAD:
            continue
        pairs = zip(our_onsets(folder / name), their_onsets(folder / name), strict=True)
        for number, (ours, theirs) in enumerate(pairs, start=1):
            count += 1
            if not same(ours, theirs):
                differing.add((name, number))
    return count, differing
