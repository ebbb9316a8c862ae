"""Private servers for the tests on real parts."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.real.servers import Server, jack, pulse


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
