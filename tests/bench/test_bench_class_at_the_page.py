"""A class brought to the page and heard there: the whole way, from the browser's bytes to the zip file."""

import http.client
import json
import os
import resource
import time
from contextlib import closing
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest

from tests.real.pages import served
from tests.simulate.class_takes import make_class

PASSAGE, SPEED, REPEATS = "supplied:29-towpath-rag", 0.6, 3
STUDENTS = 24
FASTER = 100


class Browser:
    """A browser that asks the page one thing after the other on one connection."""

    def __init__(self, address: str) -> None:
        """Open the page at ``address`` and keep its cookie."""
        found = urlsplit(address)
        self._line = http.client.HTTPConnection(found.hostname or "", found.port or 0, timeout=300)
        self._line.request("GET", f"{found.path}?{found.query}")
        answer = self._line.getresponse()
        answer.read()
        self._cookie = str(answer.getheader("set-cookie")).split(";")[0]

    def close(self) -> None:
        """Let the connection go."""
        self._line.close()

    def asks(
        self, method: str, way: str, body: bytes = b"", kind: str = "application/json"
    ) -> bytes:
        """Return what the page answers; it must not refuse."""
        headers = {"cookie": self._cookie} | ({"content-type": kind} if body else {})
        self._line.request(method, way, body, headers)
        answer = self._line.getresponse()
        told = answer.read()
        assert answer.status == 200, told[:300]
        return told


def heard_at_the_page(browser: Browser, folder: Path) -> int:
    """Bring every recording, hear the class, take it away; return how many students were heard."""
    made = json.loads(browser.asks("POST", "/api/classes", b'{"title": "Tuesday"}'))
    way = f"/api/class/{made['class']}"
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        called = quote(path.relative_to(folder).as_posix())
        kind = "application/octet-stream"
        browser.asks("POST", f"{way}/bring?called={called}", path.read_bytes(), kind)
    wishes = {"passage": PASSAGE, "speed": SPEED, "repeats": REPEATS}
    browser.asks("POST", f"{way}/hear", json.dumps(wishes).encode())
    while json.loads(browser.asks("GET", f"{way}/hear"))["hearing"]["state"] != "done":
        time.sleep(0.4)  # as the page asks
    browser.asks("GET", f"{way}/zip")
    return len(json.loads(browser.asks("GET", way))["heard"]["students"])


@pytest.mark.bench
def test_a_class_at_the_page_is_heard_faster_than_it_lasts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Half of them sent from phones; bringing, hearing, pages and the file to take away included."""
    folder = tmp_path / "class"
    folder.mkdir()
    bare = PASSAGE.partition(":")[2]
    lasts_s = make_class(folder, bare, STUDENTS, speed=SPEED, repeats=REPEATS)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with served(tmp_path / "home") as here, closing(Browser(here.address)) as browser:
        begun = time.perf_counter()
        assert heard_at_the_page(browser, folder) == STUDENTS
        wall_s = time.perf_counter() - begun
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    work_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    cores = min(os.cpu_count() or 1, 2)
    with capsys.disabled():
        print(  # noqa: T201
            f"\n{STUDENTS} recordings of {lasts_s / STUDENTS:.0f} s at the page: "
            f"{lasts_s / wall_s:.0f} times faster by the clock, "
            f"{cores * lasts_s / work_s:.0f} on {cores} idle cores; no process over "
            f"{after.ru_maxrss / 1024:.0f} MB"
        )
    assert cores * lasts_s / work_s >= FASTER
