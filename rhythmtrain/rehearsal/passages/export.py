"""Giving a passage to other programs: as MusicXML, as MIDI, or as a drill file.

MusicXML keeps the repeats as signs; MIDI has the passage as played once, its repeats included, without
a count-in.  A rhythm without pitches sounds on one note there, so that its lengths are kept.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.render.midi import midi_bytes
from rhythmtrain.report.words import several
from rhythmtrain.score.countline.short_bars import cut_short, in_sayable_bars
from rhythmtrain.score.drill.writer import write_drill
from rhythmtrain.score.musicxml.writer import unwritten, write_musicxml
from rhythmtrain.score.passage import Bar, Passage, Place, notes_of
from rhythmtrain.storage.safely import check_place, write_bytes_safely
from rhythmtrain.timing.timeline import Practice, lay_out

MUSICXML, MIDI, TOML = "musicxml", "midi", "toml"
ENDINGS: dict[str, tuple[str, ...]] = {
    MUSICXML: (".musicxml", ".xml"),
    MIDI: (".mid", ".midi"),
    TOML: (".toml",),
}
ONE_NOTE = 71  # the B of the middle line
HEARD = frozenset({Layer.TUNE, Layer.CUE})


def check_export(form: str | None, output: Path | None) -> str:
    """Return which of the forms is meant, by name or by the ending of ``output``.

    Raises:
        RequestError: the ending is not the form's, or there is no file where one is needed.
        FileError: ``output`` cannot be written there.
    """
    if output is None:
        if form == MIDI:
            raise RequestError("MIDI is not text: say where it goes with -o passage.mid")
        return form or TOML
    ending = output.suffix.lower()
    meant = next((each for each, endings in ENDINGS.items() if ending in endings), None)
    if meant is None or (form is not None and meant != form):
        endings = [each for known in ENDINGS.values() for each in known]
        allowed = ", ".join(ENDINGS[form] if form else endings)
        what = f"a passage as {form}" if form else "a passage"
        raise RequestError(f"{what} ends in {allowed}, got {output.name!r}")
    check_place(output)
    return meant


def export_passage(passage: Passage, form: str, output: Path | None) -> Told:
    """Return ``passage`` in another ``form``, written to ``output`` or else as the text itself.

    Raises:
        DrillError: the form cannot say it.
        FileError: the file cannot be written.
    """
    data = WRITERS[form](passage)
    warnings = tuple(UNWRITTEN[form](passage)) if form in UNWRITTEN else ()
    notes = len(notes_of(passage.bars))
    document: dict[str, Any] = {
        "form": form,
        "title": passage.title,
        "bars": len(passage.bars),
        "notes": notes,
    }
    if output is None:
        text = data.decode("utf-8")
        return Told(text.rstrip("\n"), document | {"text": text}, warnings=warnings)
    write_bytes_safely(output, data)
    size = f"{several(len(passage.bars), 'bar')}, {several(notes, 'note')}"
    text = f"wrote {output}: {passage.title}, {size}"
    return Told(text, document | {"path": str(output)}, (output,), warnings)


def _midi(passage: Passage) -> bytes:
    pitched = any(place.pitches for bar in passage.bars for place in bar.places)
    sounding = passage if pitched else replace(passage, bars=tuple(_on_one_note(passage.bars)))
    plan = plan_track(lay_out(sounding, Practice()), Wishes(layers=HEARD))
    landmarks = {words for bar in passage.bars for words in bar.landmarks}
    markers = tuple(marker for marker in plan.markers if marker[1] in landmarks)
    return midi_bytes(replace(plan, markers=markers))


def _on_one_note(bars: tuple[Bar, ...]) -> Iterator[Bar]:
    def sounding(place: Place) -> Place:
        return replace(place, pitches=(ONE_NOTE,))

    for bar in bars:
        yield replace(bar, places=tuple(map(sounding, bar.places)))


def _own_metres(passage: Passage) -> Iterator[str]:
    said = in_sayable_bars(passage)
    for cut in cut_short(passage, said):
        bar = said.bars[cut.index]
        yield f"bar {bar.number} is cut short: it is written in a metre of its own, {bar.metre}"


UNWRITTEN: dict[str, Callable[[Passage], Iterator[str]]] = {MUSICXML: unwritten, TOML: _own_metres}
WRITERS: dict[str, Callable[[Passage], bytes]] = {
    MUSICXML: lambda passage: write_musicxml(passage).encode("utf-8"),
    MIDI: _midi,
    TOML: lambda passage: write_drill(passage).encode("utf-8"),
}
