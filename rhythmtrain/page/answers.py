"""From a request to a rehearsal and back: one way for all of them.

Every route is a function of a desk and what was asked; it runs beside the server's loop, so that
nothing waits for it.  What a person can mend comes back as one sentence, with the code 422.
"""

import json
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response

from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.page.desk import Desk
from rhythmtrain.page.guard import REPORT_POLICY
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.page_words import at_the_page, told_at_the_page

JSON = "application/json"
FLAC, MP3 = "audio/flac", "audio/mpeg"
UNPROCESSABLE = 422


@dataclass(frozen=True, slots=True)
class Sent:
    """A file for the page: its bytes or its path, and what kind it is; ``called`` for downloads."""

    kind: str
    data: bytes = b""
    path: str = ""
    called: str = ""
    headers: dict[str, str] = field(default_factory=dict)


Answer = dict[str, Any] | Sent
Route = Callable[[Desk, Asked], Answer]
# What is asked for, by its way ("GET", "POST") and its address.
Routes = dict[tuple[str, str], Route]


def report(data: str) -> Sent:
    """Return a page that was made whole, to be shown alone."""
    return Sent(
        "text/html; charset=utf-8",
        data.encode("utf-8"),
        headers={"Content-Security-Policy": REPORT_POLICY},
    )


def answering(route: Route) -> Callable[[Request], Awaitable[Response]]:
    """Return the endpoint that answers with what ``route`` gives."""

    async def endpoint(request: Request) -> Response:
        try:
            asked = await _asked(request)
            answer = await run_in_threadpool(route, request.app.state.desk, asked)
        except ClientDisconnect:
            return Response(status_code=400)
        except RhythmtrainError as error:
            return refused(error, request.app.state.desk)
        return _answer(answer)

    return endpoint


def refused(error: RhythmtrainError, desk: Desk) -> Response:
    """Return the answer to what cannot be done: one sentence, as the page says it."""
    sentence = at_the_page(desk.sitting.said_here(str(error)))
    return JSONResponse({"sentence": sentence}, UNPROCESSABLE)


async def _asked(request: Request) -> Asked:
    """Return the values of the query and the path, and those of the body or its bytes."""
    values: dict[str, Any] = dict(request.query_params) | dict(request.path_params)
    body = await request.body()
    if not request.headers.get("content-type", "").startswith(JSON):
        return Asked(values, body)
    try:
        sent = json.loads(body)
    except (ValueError, RecursionError) as error:
        raise RequestError("the page sent something that is no JSON: reload it") from error
    if not isinstance(sent, dict):
        raise RequestError("the page sent something that is no document: reload it")
    return Asked(sent | dict(request.path_params))


def _answer(answer: Answer) -> Response:
    if isinstance(answer, dict):
        return JSONResponse(told_at_the_page(answer))
    headers = dict(answer.headers)
    if answer.called:
        headers["Content-Disposition"] = f'attachment; filename="{answer.called}"'
    if answer.path:
        return FileResponse(answer.path, media_type=answer.kind, headers=headers)
    return Response(answer.data, media_type=answer.kind, headers=headers)
