"""What the page can ask of a class: a table of its own, beside that of all else.

The page of a class leads to those of its students, so it keeps our own origin, whose key goes with
a link; it may run no script at all.  A student's page has its own script, which plays bars: it is
shown as every report is, alone and of no origin.
"""

from rhythmtrain.page.answers import Answer, Route, Sent, report
from rhythmtrain.page.desk import Desk
from rhythmtrain.page.guard import MOST_BYTES
from rhythmtrain.rehearsal.desk.asked import Asked

CLASS_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'; base-uri 'none'; "
    "form-action 'none'"
)


def _listed(desk: Desk, _asked: Asked) -> Answer:
    return desk.classroom.listed() | {"largest_bytes": MOST_BYTES}


def _made(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.made(asked)


def _shown(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.shown(asked)


def _brought(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.brought(asked)


def _left_out(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.left_out(asked)


def _gone(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.gone(asked)


def _heard(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.heard(asked)


def _state(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.state(asked)


def _stopped(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.stopped(asked)


def _line(desk: Desk, asked: Asked) -> Answer:
    return desk.classroom.line(asked)


def _page(desk: Desk, asked: Asked) -> Answer:
    text, students = desk.classroom.page(asked)
    if students:
        return report(text)
    headers = {"Content-Security-Policy": CLASS_POLICY}
    return Sent("text/html; charset=utf-8", text.encode("utf-8", "replace"), headers=headers)


def _zipped(desk: Desk, asked: Asked) -> Answer:
    found = desk.classroom.zipped(asked)
    return Sent(found.kind, path=str(found.path), called=found.called)


CLASS_ROUTES: dict[tuple[str, str], Route] = {
    ("GET", "/api/classes"): _listed,
    ("POST", "/api/classes"): _made,
    ("GET", "/api/class/{class}"): _shown,
    ("POST", "/api/class/{class}/bring"): _brought,
    ("POST", "/api/class/{class}/leave-out"): _left_out,
    ("POST", "/api/class/{class}/away"): _gone,
    ("POST", "/api/class/{class}/hear"): _heard,
    ("GET", "/api/class/{class}/hear"): _state,
    ("POST", "/api/class/{class}/stop"): _stopped,
    ("POST", "/api/class/{class}/line"): _line,
    ("GET", "/api/class/{class}/page/{page}"): _page,
    ("GET", "/api/class/{class}/zip"): _zipped,
}
