"""Passages: brought, chosen, seen, written, clapped in, taken away as files."""

from rhythmtrain.page.answers import Answer, Routes, Sent
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.bringing import brought
from rhythmtrain.rehearsal.desk.brought.notes import notes_brought
from rhythmtrain.rehearsal.desk.clapping_in import clapped_in, recording_written_down
from rhythmtrain.rehearsal.desk.drawing import passage_shown, text_drawn
from rhythmtrain.rehearsal.desk.handing.fetching import fetched
from rhythmtrain.rehearsal.desk.handing.packs import pack_made
from rhythmtrain.rehearsal.desk.handing.sheets import sheet_made
from rhythmtrain.rehearsal.desk.shelf import (
    keep_written,
    passage_text,
    shelf,
    take_away,
)
from rhythmtrain.rehearsal.desk.whose_part import part_chosen


def _shelf(desk: Desk, _asked: Asked) -> Answer:
    """Return what can be chosen, and once what became of takes that were never ended."""
    greetings, desk.greetings = desk.greetings, []
    return shelf(desk.sitting) | {"greetings": greetings}


def _fetched(desk: Desk, asked: Asked) -> Answer:
    found = fetched(desk.sitting, asked)
    return Sent(found.kind, path=str(found.path), called=found.called)


def _pack(desk: Desk, asked: Asked) -> Answer:
    found = desk.packs.get(asked.text("pack"))
    return Sent(found.kind, path=str(found.path), called=found.called)


PASSAGES: Routes = {
    ("POST", "/api/bring"): lambda desk, asked: brought(desk.sitting, asked),
    ("GET", "/api/shelf"): _shelf,
    ("GET", "/api/passage"): lambda desk, asked: passage_shown(desk.sitting, asked),
    ("GET", "/api/passage/text"): lambda desk, asked: passage_text(desk.sitting, asked),
    ("POST", "/api/passage/draw"): lambda desk, asked: text_drawn(desk.sitting, asked),
    ("POST", "/api/passage/write"): lambda desk, asked: keep_written(desk.sitting, asked),
    ("POST", "/api/passage/part"): lambda desk, asked: part_chosen(desk.sitting, asked),
    ("POST", "/api/passage/notes"): lambda desk, asked: notes_brought(desk.sitting, asked),
    ("POST", "/api/passage/away"): lambda desk, asked: take_away(desk.sitting, asked),
    ("POST", "/api/passage/clapped"): lambda desk, asked: clapped_in(desk.sitting, asked),
    ("POST", "/api/passage/heard"): lambda desk, asked: recording_written_down(desk.sitting, asked),
    ("GET", "/api/fetch/{what}"): _fetched,
    ("POST", "/api/pack"): lambda desk, asked: pack_made(desk.sitting, desk.packs, asked),
    ("POST", "/api/sheet"): lambda desk, asked: sheet_made(desk.sitting, desk.packs, asked),
    ("GET", "/api/pack/{pack}"): _pack,
}
