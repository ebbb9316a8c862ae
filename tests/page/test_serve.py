"""The server's socket: on this machine alone, open before its address is told."""

import socket

import pytest

from rhythmtrain.errors import DeviceError, RequestError
from rhythmtrain.page import serve


def test_whoever_opens_the_address_at_once_is_not_turned_away(
    monkeypatch: pytest.MonkeyPatch, tmp_path: object
) -> None:
    """The browser is opened the moment the address is known, the server a moment later."""
    told: list[str] = []

    class Never:
        def __init__(self, _config: object) -> None: ...

        def run(self, sockets: list[socket.socket]) -> None:
            assert told
            with socket.create_connection(sockets[0].getsockname(), timeout=60):
                pass

    def say(words: str) -> None:
        told.append(words)
        port = int(words.split("/?key=", maxsplit=1)[0].rpartition(":")[2])
        with socket.create_connection(("127.0.0.1", port), timeout=60):
            pass

    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    monkeypatch.setattr("uvicorn.Server", Never)
    serve.serve(say, browser=False)
    assert "Ctrl-C" in told[0]


def test_a_port_that_is_taken_is_said_to_be(
    monkeypatch: pytest.MonkeyPatch, tmp_path: object
) -> None:
    """Two pages at once each want a port of their own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        with pytest.raises(DeviceError, match="taken"):
            serve.serve(lambda _: None, port=port, browser=False)


@pytest.mark.parametrize("port", [-1, 65_536])
def test_a_port_that_no_machine_has_is_said_to_be_none(port: int) -> None:
    """A slip in a number is told as such, before anything is opened."""
    with pytest.raises(RequestError, match=f"0 .any free one. to 65535, got {port}"):
        serve.serve(lambda _: None, port=port, browser=False)
