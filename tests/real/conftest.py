"""Private servers for the tests on real parts, a browser and a page."""

import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.real.pages import Served, chromium, served
from tests.real.servers import Server, jack, pulse


@pytest.fixture(autouse=True, scope="session")
def _interruptible() -> None:
    """Let the programs that are started here hear Ctrl-C, also where the tests themselves do not.

    A shell lets what it runs in the background ignore it, and whatever that starts inherits it.
    """
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="module")
def jack_server() -> Iterator[Server]:
    """Run one JACK server for the tests of a module."""
    with jack() as server:
        yield server


@pytest.fixture
def own_jack_server() -> Iterator[Server]:
    """Run a JACK server that the test may kill."""
    with jack() as server:
        yield server


@pytest.fixture
def pulse_server(tmp_path: Path) -> Iterator[Server]:
    """Run a PulseAudio server."""
    with pulse(tmp_path) as server:
        yield server


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Run one browser for the tests of a module."""
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Serve one page to the tests of a module."""
    with served(tmp_path_factory.mktemp("home")) as page:
        yield page
