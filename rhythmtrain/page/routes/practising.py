"""Sessions and entries: step after step, try after try, each chosen from what was heard."""

from rhythmtrain.errors import TakeError
from rhythmtrain.page.answers import FLAC, Answer, Routes, Sent
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.cueing import cue_fetched, cue_sounded, cue_told
from rhythmtrain.rehearsal.desk.entering import course_begun, try_ended, try_made
from rhythmtrain.rehearsal.desk.numbers import numbers_kept, numbers_told
from rhythmtrain.rehearsal.desk.session import session_begun, step_ended, step_made
from rhythmtrain.rehearsal.desk.taking import take_ended


def _session(desk: Desk, asked: Asked) -> Answer:
    return session_begun(desk.sitting, desk.sessions, asked)


def _step(desk: Desk, asked: Asked) -> Answer:
    return step_made(desk.sitting, desk.sessions, desk.tracks, asked)


def _stepped(desk: Desk, asked: Asked) -> Answer:
    """End a step: with a take, without one where nothing is heard, or with one that holds nothing."""
    finished, silent = None, False
    if asked.values.get("take") is not None:
        try:
            finished = take_ended(desk.sitting, desk.tracks, asked)
        except TakeError:
            silent = not asked.truth("stopped")
    return step_ended(desk.sessions, Asked({**asked.values, "silent": silent}), finished)


def _course(desk: Desk, asked: Asked) -> Answer:
    return course_begun(desk.sitting, desk.courses, asked)


def _cue(desk: Desk, asked: Asked) -> Answer:
    return Sent(FLAC, path=str(cue_sounded(desk.sitting, asked)))


def _cue_file(desk: Desk, asked: Asked) -> Answer:
    found = cue_fetched(desk.sitting, asked)
    return Sent(found.kind, path=str(found.path), called=found.called)


def _try(desk: Desk, asked: Asked) -> Answer:
    return try_made(desk.sitting, desk.courses, desk.tracks, asked)


def _tried(desk: Desk, asked: Asked) -> Answer:
    """End a try; one in which nothing was played is a try in which nobody came in."""
    try:
        finished = take_ended(desk.sitting, desk.tracks, asked)
    except TakeError:
        finished = None
    return try_ended(desk.courses, asked, finished)


PRACTISING: Routes = {
    ("GET", "/api/numbers"): lambda _desk, _asked: numbers_told(),
    ("POST", "/api/numbers"): lambda _, asked: numbers_kept(asked),
    ("POST", "/api/session"): _session,
    ("POST", "/api/session/{session}/track"): _step,
    ("POST", "/api/session/{session}/end"): _stepped,
    ("GET", "/api/cue"): lambda desk, asked: cue_told(desk.sitting, asked),
    ("GET", "/api/cue/sound"): _cue,
    ("GET", "/api/cue/file/{what}"): _cue_file,
    ("POST", "/api/entry"): _course,
    ("POST", "/api/entry/{course}/track"): _try,
    ("POST", "/api/entry/{course}/end"): _tried,
}
