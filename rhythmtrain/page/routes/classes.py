"""A class: the recordings of students brought, heard, told of and taken away.

The page of a class leads to those of its students, so it keeps our own origin, whose key goes with
a link; it may run no script at all.  A student's page has its own script, which plays bars: it is
shown as every report is, alone and of no origin.  A recording goes to the disk as it comes.
"""

from contextlib import suppress

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.page.answers import Answer, Routes, Sent, refused, report
from rhythmtrain.page.desk import Desk
from rhythmtrain.page.guard import MOST_BYTES
from rhythmtrain.rehearsal.desk.asked import Asked

CLASS_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'; base-uri 'none'; "
    "form-action 'none'"
)


def _listed(desk: Desk, _asked: Asked) -> Answer:
    return desk.classroom.listed() | {"largest_bytes": MOST_BYTES}


def _page(desk: Desk, asked: Asked) -> Answer:
    text, students = desk.classroom.page(asked)
    if students:
        return report(text)
    headers = {"Content-Security-Policy": CLASS_POLICY}
    return Sent("text/html; charset=utf-8", text.encode("utf-8", "replace"), headers=headers)


def _zipped(desk: Desk, asked: Asked) -> Answer:
    found = desk.classroom.zipped(asked)
    return Sent(found.kind, path=str(found.path), called=found.called)


async def recording_arrives(request: Request) -> Response:
    """Take the bytes of a recording as they come, and say whose it is."""
    asked = Asked({**request.query_params, **request.path_params})
    coming = request.stream()
    try:
        arriving = await run_in_threadpool(request.app.state.desk.classroom.arriving, asked)
        with arriving:
            async for some in coming:
                await run_in_threadpool(arriving.write, some)
            return JSONResponse(await run_in_threadpool(arriving.whole))
    except ClientDisconnect:
        return Response(status_code=400)
    except RhythmtrainError as error:
        # What still comes is read, so that the browser gets to hear why it was for nothing.
        with suppress(ClientDisconnect):
            async for _ in coming:
                pass
        return refused(error, request.app.state.desk)


CLASS_ARRIVALS = "/api/class/{class}/bring"
CLASSES: Routes = {
    ("GET", "/api/classes"): _listed,
    ("POST", "/api/classes"): lambda desk, asked: desk.classroom.made(asked),
    ("GET", "/api/class/{class}"): lambda desk, asked: desk.classroom.shown(asked),
    ("POST", "/api/class/{class}/leave-out"): lambda desk, asked: desk.classroom.left_out(asked),
    ("POST", "/api/class/{class}/away"): lambda desk, asked: desk.classroom.gone(asked),
    ("POST", "/api/class/{class}/hear"): lambda desk, asked: desk.classroom.heard(asked),
    ("GET", "/api/class/{class}/hear"): lambda desk, asked: desk.classroom.state(asked),
    ("POST", "/api/class/{class}/stop"): lambda desk, asked: desk.classroom.stopped(asked),
    ("POST", "/api/class/{class}/rename"): lambda desk, asked: desk.classroom.renamed(asked),
    ("POST", "/api/class/{class}/line"): lambda desk, asked: desk.classroom.line(asked),
    ("GET", "/api/class/{class}/page/{page}"): _page,
    ("GET", "/api/class/{class}/zip"): _zipped,
}
