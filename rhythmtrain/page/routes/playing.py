"""Tracks and takes: what sounds, what was clapped to it, what was heard."""

from rhythmtrain.page.answers import FLAC, MP3, Answer, Routes, Sent, report
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.arriving import sound_came, take_begun, take_went_on
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.hearing_file import take_brought
from rhythmtrain.rehearsal.desk.rounds.told import round_told
from rhythmtrain.rehearsal.desk.sounding import track_made
from rhythmtrain.rehearsal.desk.taking import take_ended
from rhythmtrain.rehearsal.desk.telling import bar_sound, report_written, take_told


def _stem(desk: Desk, asked: Asked) -> Answer:
    made = desk.tracks.get(asked.text("track"))
    return Sent(FLAC, path=str(made.stem(asked.text("layer"))))


def _ended(desk: Desk, asked: Asked) -> Answer:
    return take_told(take_ended(desk.sitting, desk.tracks, asked), desk.takes)


def _round(desk: Desk, asked: Asked) -> Answer:
    return round_told(desk.sitting, desk.tracks, asked)


def _brought(desk: Desk, asked: Asked) -> Answer:
    return take_told(take_brought(desk.sitting, asked), desk.takes)


def _bar(desk: Desk, asked: Asked) -> Answer:
    name, bar = asked.text("heard"), asked.whole("bar")
    return Sent(MP3, bar_sound(desk.takes, name, bar, desk.sitting.passing))


def _report(desk: Desk, asked: Asked) -> Answer:
    return report(report_written(desk.takes, asked.text("heard"), desk.sitting.passing))


PLAYING: Routes = {
    ("POST", "/api/track"): lambda desk, asked: track_made(desk.sitting, desk.tracks, asked),
    ("GET", "/api/track/{track}/{layer}"): _stem,
    ("POST", "/api/take"): lambda desk, asked: take_begun(desk.sitting, desk.tracks, asked),
    ("POST", "/api/take/{take}/on"): lambda desk, asked: take_went_on(desk.sitting, asked),
    ("POST", "/api/take/{take}/sound"): lambda desk, asked: sound_came(desk.sitting, asked),
    ("POST", "/api/take/{take}/round"): _round,
    ("POST", "/api/take/{take}/end"): _ended,
    ("POST", "/api/heard"): _brought,
    ("GET", "/api/heard/{heard}/bar/{bar}"): _bar,
    ("GET", "/api/heard/{heard}/report"): _report,
}
