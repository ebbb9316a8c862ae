"""The page as a web application: its files, its table of routes, its guard."""

from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from rhythmtrain.page.answers import answering
from rhythmtrain.page.desk import Desk
from rhythmtrain.page.files import serving
from rhythmtrain.page.guard import Guard
from rhythmtrain.page.routes.classes import CLASS_ARRIVALS, recording_arrives
from rhythmtrain.page.routes.table import ROUTES

STATIC = Path(__file__).parent / "static"
# The scripts of the first view: the browser asks for all of them at once.
FIRST = (
    "page.js", "ask.js", "calm.js", "frames.js", "parts.js",
    "places/choose.js", "wishes/bringing.js",
)  # fmt: skip


def page_app(desk: Desk, *, key: str, hosts: frozenset[str]) -> Starlette:
    """Return the application that serves ``desk`` to whoever has ``key`` at one of ``hosts``."""
    html = _first_page()

    async def first(_request: Request) -> Response:
        return HTMLResponse(html)

    routes = [Route("/", first)]
    routes += [
        Route(path, answering(route), methods=[method]) for (method, path), route in ROUTES.items()
    ]
    routes.append(Route(CLASS_ARRIVALS, recording_arrives, methods=["POST"]))
    routes.append(Route("/static/{name:path}", serving(STATIC)))
    guard = Middleware(Guard, key=key, hosts=hosts)
    app = Starlette(routes=routes, middleware=[guard])
    app.state.desk = desk
    return app


def _first_page() -> str:
    """Return the one HTML page; everything else comes into it by script."""
    pages = Environment(
        loader=PackageLoader("rhythmtrain.page"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return pages.get_template("page.html").render(first=FIRST)
