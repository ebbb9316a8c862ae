"""Recordings: brought, heard, mapped beat by beat, practised over."""

from rhythmtrain.page.answers import FLAC, Answer, Routes, Sent
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.brought.beats_file import beats_brought, beats_saved
from rhythmtrain.rehearsal.desk.mapping import (
    beats_kept,
    beats_mapped,
    map_used,
    nearest_stroke,
    notes_mapped,
)
from rhythmtrain.rehearsal.desk.recordings import (
    recording_shown,
    recording_sound,
    recordings,
)


def _sound(desk: Desk, asked: Asked) -> Answer:
    return Sent(FLAC, path=str(recording_sound(desk.sitting, asked)))


def _beats_file(desk: Desk, asked: Asked) -> Answer:
    found = beats_saved(desk.sitting, asked)
    return Sent(found.kind, path=str(found.path), called=found.called)


ONE = "/api/recording/{recording}"
RECORDINGS: Routes = {
    ("GET", "/api/recordings"): lambda desk, _: recordings(desk.sitting),
    ("GET", f"{ONE}/wave"): lambda desk, asked: recording_shown(desk.sitting, asked),
    ("GET", f"{ONE}/sound"): _sound,
    ("GET", f"{ONE}/beats"): lambda desk, asked: beats_kept(desk.sitting, asked),
    ("POST", f"{ONE}/beats"): lambda desk, asked: beats_mapped(desk.sitting, asked),
    ("GET", f"{ONE}/beats/file"): _beats_file,
    ("POST", f"{ONE}/beats/file"): lambda desk, asked: beats_brought(desk.sitting, asked),
    ("POST", f"{ONE}/notes"): lambda desk, asked: notes_mapped(desk.sitting, asked),
    ("POST", f"{ONE}/nearest"): lambda desk, asked: nearest_stroke(desk.sitting, asked),
    ("POST", f"{ONE}/use"): lambda desk, asked: map_used(desk.sitting, asked),
}
