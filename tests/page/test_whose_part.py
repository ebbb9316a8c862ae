"""Whose part of a score is practised is chosen once, and holds wherever the passage goes."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from tests.page.asking import posted

BAR = '<measure number="1"><attributes><divisions>1</divisions><time><beats>2</beats><beat-type>4</beat-type></time></attributes>{}</measure>'  # fmt: skip
NOTE = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>{}</duration></note>"
REST = "<note><rest/><duration>2</duration></note>"


def score() -> bytes:
    """Return a score of a clarinet that rests, a violin of two notes, and a piano of one."""
    played = {"Clarinet": NOTE.format(2), "Violin": NOTE.format(1) * 2, "Piano": NOTE.format(2)}
    names = "".join(
        f'<score-part id="P{number}"><part-name>{name}</part-name></score-part>'
        for number, name in enumerate(played)
    )
    parts = "".join(
        f'<part id="P{number}">{BAR.format(notes)}</part>'
        for number, notes in enumerate(played.values())
    )
    return f'<score-partwise version="4.0"><part-list>{names}</part-list>{parts}</score-partwise>'.encode()


@pytest.fixture
def trio(browser: TestClient) -> str:
    """Bring the score; return what the shelf calls it."""
    answer = browser.post("/api/bring", params={"file": "Trio.musicxml"}, content=score())
    return str(answer.json()["name"])


def notes(browser: TestClient, name: str) -> int:
    """Return how many notes the passage has at the page."""
    told = browser.get("/api/passage", params={"passage": name}).json()
    return sum(sign["note"] for sign in told["signs"])


def test_another_part_is_chosen_and_changed(browser: TestClient, desk: Desk, trio: str) -> None:
    """The clarinet is taken by itself; the violin once, then the clarinet again, with the piano's cue."""
    told = browser.get("/api/passage", params={"passage": trio}).json()
    assert told["scored"]
    assert told["title"] == "trio"
    assert "choose another under \u201cWhose part\u201d" in " ".join(told["said"])
    assert notes(browser, trio) == 1
    chosen = posted(browser, "/api/passage/part", passage=trio, part="Violin")["name"]
    assert chosen.endswith(".toml")
    assert notes(browser, chosen) == 2
    assert posted(browser, "/api/track", passage=chosen)["notes"][1]["yours"]
    again = posted(browser, "/api/passage/part", passage=chosen, part="1", cue_part="Piano")
    assert again["name"] == chosen
    assert notes(browser, chosen) == 1
    text = (desk.sitting.folders.passages / chosen.partition(":")[2]).read_text("utf-8")
    assert text.count("part = ") == 2
    assert 'cue_part = "Piano"' in text
    assert 'title = "trio"' in text
    assert not browser.get("/api/passage", params={"passage": "supplied:10-off-beats"}).json()[
        "scored"
    ]


@pytest.mark.parametrize(
    ("passage", "part", "words"),
    [
        ("trio", "Kazoo", "there is no part 'Kazoo': say its name or number, one of 1 Clarinet"),
        ("supplied:10-off-beats", "1", "comes from no score of yours"),
        ("own:gone.toml", "1", "there is no passage"),
    ],
)
def test_a_part_that_is_not_there_changes_nothing(
    browser: TestClient, desk: Desk, trio: str, passage: str, part: str, words: str
) -> None:
    """One sentence, with the parts there are."""
    before = sorted(desk.sitting.folders.passages.iterdir())
    asked: dict[str, Any] = {"passage": trio if passage == "trio" else passage, "part": part}
    answer = browser.post("/api/passage/part", json=asked)
    assert answer.status_code == 422
    assert words in answer.json()["sentence"]
    assert sorted(desk.sitting.folders.passages.iterdir()) == before
