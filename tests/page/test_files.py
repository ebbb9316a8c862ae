"""The page's own files: what a browser gets of them, and what it is spared."""

import os
import re
from collections import Counter
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from rhythmtrain.page.app import FIRST

STATIC = Path(__file__).parents[2] / "rhythmtrain" / "page" / "static"
FILES = sorted(path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*") if path.is_file())
ADDRESSED = re.compile(r'"/static/([^"]*)"')
IMPORTED = re.compile(r'(?:from |import\()"(\.[^"]*\.js)"')
MOST_IN_A_FOLDER = 12


def imported(name: str, *, at_once: bool = False) -> list[str]:
    """Return the scripts that the script ``name`` imports; ``at_once``: before it runs."""
    text = (STATIC / name).read_text("utf-8")
    lines = [line for line in text.splitlines() if not at_once or line.startswith("import ")]
    folder = (STATIC / name).parent
    ways = [folder / each for line in lines for each in IMPORTED.findall(line)]
    return [Path(os.path.normpath(way)).relative_to(STATIC).as_posix() for way in ways]


def test_the_scripts_lie_in_rooms_and_data_flows_one_way() -> None:
    """No two folders need each other; what several need stands beside them, and is found at a glance."""
    scripts = [each for each in FILES if each.endswith(".js")]
    needs: dict[str, set[str]] = {}
    for name in scripts:
        addressed = ADDRESSED.findall((STATIC / name).read_text("utf-8"))
        for other in (*imported(name), *addressed):
            assert other in FILES, f"{name} imports {other}"
            one, two = (str(Path(each).parent) for each in (name, other))
            if "." not in {one, two} and one != two:
                needs.setdefault(one, set()).add(two)
    while needs:
        free = {two for each in needs.values() for two in each} - needs.keys()
        assert free, f"these folders need each other: {sorted(needs)}"
        needs = {one: left for one, each in needs.items() if (left := each - free)}
    held = Counter(str(Path(each).parent) for each in scripts)
    assert max(held.values()) <= MOST_IN_A_FOLDER, held


@pytest.mark.parametrize("name", FILES)
def test_every_file_comes_as_it_is_and_as_what_it_is(browser: TestClient, name: str) -> None:
    """A browser runs no script that is not called one."""
    answer = browser.get(f"/static/{name}")
    assert answer.content == (STATIC / name).read_bytes()
    kind = {"js": "text/javascript", "css": "text/css"}[name.rpartition(".")[2]]
    assert answer.headers["content-type"].startswith(kind)
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_what_a_browser_has_it_is_not_sent_again(browser: TestClient) -> None:
    """It asks each time, so that a newer program is seen at once, and is answered in a few bytes."""
    first = browser.get("/static/page.js")
    assert first.headers["cache-control"] == "no-cache"
    tag = first.headers["etag"]
    for held in (tag, f"W/{tag}", f'"other", {tag}'):
        again = browser.get("/static/page.js", headers={"if-none-match": held})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    other = browser.get("/static/page.css").headers["etag"]
    for stale in (other, "", tag.strip('"')):
        again = browser.get("/static/page.js", headers={"if-none-match": stale})
        assert (again.status_code, again.content) == (200, first.content)


def test_what_is_said_to_somebody_is_kept_nowhere(browser: TestClient) -> None:
    """Only the program's own files stay in a browser, nothing of a person."""
    for way in ("/", "/api/shelf", "/api/days"):
        assert browser.get(way).headers["cache-control"] == "no-store"


def test_the_first_view_asks_for_all_its_scripts_at_once(browser: TestClient) -> None:
    """Each script that is found only in another one is a way to the program and back."""
    needed, left = set[str](), ["page.js", "places/choose.js"]
    while left:
        name = left.pop()
        needed.add(name)
        left += [each for each in imported(name, at_once=True) if each not in needed]
    assert set(FIRST) == needed
    text = browser.get("/").text
    assert re.findall('rel="modulepreload" href="/static/(.*)"', text) == list(FIRST)


@pytest.mark.parametrize(
    "way",
    [
        "nothing.js",
        "../app.py",
        "%2e%2e/app.py",
        "..%2fapp.py",
        "a/b",
        "sound/../../app.py",
        "sound%2f..%2f..%2fapp.py",
        "sound",
    ],
)
def test_no_name_leads_out_of_the_folder(browser: TestClient, way: str) -> None:
    """What is not one of the page's files is not there."""
    assert browser.get(f"/static/{way}").status_code == 404
