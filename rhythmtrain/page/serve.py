"""Opening the page: a server on this machine alone, until it is told to stop."""

import secrets
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from rhythmtrain.errors import DeviceError, RequestError
from rhythmtrain.page.app import page_app
from rhythmtrain.page.desk import Desk

HOST = "127.0.0.1"
GRACE_S = 2
LAST_PORT = 65_535
Say = Callable[[str], None]


def serve(
    say: Say,
    *,
    port: int = 0,
    browser: bool = True,
    home: Path | None = None,
    key: str | None = None,
) -> None:
    """Serve the page until Ctrl-C, and ``say`` at which address; with ``browser`` it is opened.

    ``port`` 0 takes one that is free.  ``key`` is made anew each time unless one is given.

    Raises:
        DeviceError: the port is taken.
        RequestError: no such port.
        FileError: nothing can be written in the user's folder.
    """
    if not 0 <= port <= LAST_PORT:
        raise RequestError(f"the port must be 0 (any free one) to {LAST_PORT}, got {port}")
    key = key or secrets.token_urlsafe(24)
    with Desk(home) as desk, _listening(port) as listening:
        port = listening.getsockname()[1]
        hosts = frozenset({f"{HOST}:{port}", f"localhost:{port}"})
        app = page_app(desk, key=key, hosts=hosts)
        config = uvicorn.Config(
            app, log_level="warning", access_log=False, timeout_graceful_shutdown=GRACE_S,
            server_header=False, ws="none", lifespan="off",
        )  # fmt: skip
        address = f"http://{HOST}:{port}/?key={key}"
        say(f"The page is at {address}\nCtrl-C stops it. What you practised stays in your history.")
        if browser:
            webbrowser.open(address)
        uvicorn.Server(config).run(sockets=[listening])


def _listening(port: int) -> socket.socket:
    """Return a socket that listens on this machine alone."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((HOST, port))
        # Whoever comes before the server is ready waits for it, instead of being turned away.
        listening.listen()
    except OSError as error:
        listening.close()
        raise DeviceError(f"port {port} is taken: leave --port out, or give another") from error
    return listening
