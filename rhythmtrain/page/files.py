"""The page's own files: read once, answered from memory, and not sent twice.

A page is made of many small files, and a first view waits for them one after the other.  Each answer
names what it is by a digest of its bytes (an entity tag, RFC 9110, section 8.8.3); a browser that
has it asks with that name and is told in a few bytes that nothing changed.  It always asks, because
a program that was brought up to date serves other files from the same address.
"""

import hashlib
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

KINDS = {".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8"}
UNCHANGED, UNKNOWN = 304, 404


@dataclass(frozen=True, slots=True)
class _File:
    data: bytes
    kind: str
    tag: str

    @property
    def headers(self) -> dict[str, str]:
        return {"ETag": self.tag, "Cache-Control": "no-cache"}


def serving(folder: Path) -> Callable[[Request], Awaitable[Response]]:
    """Return the endpoint that answers with the file in ``folder`` that its path names ("name")."""
    found = (path for path in folder.rglob("*") if path.suffix in KINDS)
    files = {path.relative_to(folder).as_posix(): _read(path) for path in found}

    async def endpoint(request: Request) -> Response:
        file = files.get(request.path_params["name"])
        if file is None:
            return PlainTextResponse("There is no such file.", UNKNOWN)
        if file.tag in _held(request.headers.get("if-none-match", "")):
            return Response(status_code=UNCHANGED, headers=file.headers)
        return Response(file.data, media_type=file.kind, headers=file.headers)

    return endpoint


def _read(path: Path) -> _File:
    data = path.read_bytes()
    return _File(data, KINDS[path.suffix], f'"{hashlib.sha256(data).hexdigest()[:32]}"')


def _held(header: str) -> set[str]:
    """Return the tags that a browser says it holds; a weak one is as good here as a strong one."""
    return {each.strip().removeprefix("W/") for each in header.split(",")}
