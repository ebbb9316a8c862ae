"""What is set once: words, and the sound delay of this machine."""

from rhythmtrain.page.answers import Answer, Routes
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.own_voice import voice_told, word_brought, word_gone
from rhythmtrain.rehearsal.desk.preferring import (
    settings_kept,
    settings_told,
    tapping_ended,
    tapping_made,
)


def _tapped(desk: Desk, asked: Asked) -> Answer:
    return tapping_ended(desk.sitting, desk.tracks, asked)


SETTINGS: Routes = {
    ("GET", "/api/settings"): lambda _desk, _asked: settings_told(),
    ("POST", "/api/settings"): lambda _, asked: settings_kept(asked),
    ("GET", "/api/voice"): lambda desk, _: voice_told(desk.sitting),
    ("POST", "/api/voice/bring"): lambda desk, asked: word_brought(desk.sitting, asked),
    ("POST", "/api/voice/away"): lambda desk, asked: word_gone(desk.sitting, asked),
    ("POST", "/api/delay/track"): lambda desk, _: tapping_made(desk.sitting, desk.tracks),
    ("POST", "/api/delay/end"): _tapped,
}
