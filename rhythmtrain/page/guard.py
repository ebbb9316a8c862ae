"""The guard at the page's door: only this machine's own browser, with the key, gets in.

The server listens on the loopback address alone.  A web page of another origin can still make a
browser ask it, so every request must name our own host (which stops names that were pointed here),
must not come from another origin, and must carry the key: the address that opens the page has it
once, and it is then a cookie that no other site's request carries (RFC 6265bis, ``SameSite``).
"""

import secrets
from collections.abc import MutableMapping
from typing import Any
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE = "rhythmtrain-key"
MOST_BYTES = 300_000_000
PROTECTION = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self' data: blob:; media-src 'self' blob: data:; "
        "style-src 'self' 'unsafe-inline'; script-src 'self'; connect-src 'self'; "
        "worker-src 'self'; frame-src 'self'; frame-ancestors 'self'; base-uri 'none'; form-action 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "microphone=(self), midi=(self), camera=(), geolocation=()",
    "Cache-Control": "no-store",
}
# A report holds its own look and script; it is shown alone, and may ask nobody for anything.
REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; "
    "media-src data: blob:; frame-ancestors 'self'; sandbox allow-scripts allow-downloads"
)
CLOSED = "This page opens only from the address that `rhythmtrain open` printed: open that one."


class Guard:
    """Lets through what comes from our own page, and adds what protects it to every answer."""

    def __init__(self, app: ASGIApp, *, key: str, hosts: frozenset[str]) -> None:
        """Guard ``app``: ``key`` opens it, under the names ``hosts`` ("127.0.0.1:8000")."""
        self._app, self._key, self._hosts = app, key, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or refuse in one sentence."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        refused = self._refused(scope)
        if refused is not None:
            await refused(scope, receive, _protecting(send))
            return
        await self._app(scope, _bounded(receive), _protecting(send))

    def _refused(self, scope: Scope) -> Response | None:
        """Return the answer to who may not come in; the first visit is sent on with its cookie."""
        headers = Headers(scope=scope)
        if scope["type"] != "http" or headers.get("host", "") not in self._hosts:
            return PlainTextResponse(CLOSED, 403)
        origin = headers.get("origin")
        if origin is not None and origin.removeprefix("http://") not in self._hosts:
            return PlainTextResponse(CLOSED, 403)
        asked = parse_qs(scope["query_string"].decode("ascii", "replace")).get("key", [""])[0]
        if (
            scope["path"] == "/"
            and asked
            and secrets.compare_digest(asked.encode(), self._key.encode())
        ):
            answer = RedirectResponse("/", 303)
            answer.set_cookie(COOKIE, self._key, httponly=True, samesite="strict")
            return answer
        if not self._known(headers.get("cookie", "")):
            return PlainTextResponse(CLOSED, 403)
        if int(headers.get("content-length", "0") or 0) > MOST_BYTES:
            return PlainTextResponse("That file is larger than 300 MB: bring a shorter one.", 413)
        return None

    def _known(self, cookies: str) -> bool:
        for each in cookies.split(";"):
            name, _, value = each.strip().partition("=")
            if name == COOKIE and secrets.compare_digest(value.encode(), self._key.encode()):
                return True
        return False


def _bounded(receive: Receive) -> Receive:
    """Return ``receive``, which stops taking what is too much, whatever length was announced."""
    taken = 0

    async def bounded() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BYTES:
            return {"type": "http.disconnect"}
        return message

    return bounded


def _protecting(send: Send) -> Send:
    async def protecting(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            own = {name for name, _ in message["headers"]}
            message["headers"] = [
                *message["headers"],
                *(
                    (name.lower().encode(), value.encode())
                    for name, value in PROTECTION.items()
                    if name.lower().encode() not in own
                ),
            ]
        await send(message)

    return protecting
