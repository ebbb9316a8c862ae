"""A page that is closed, or a program that is killed, in the middle of a take."""

import json
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from rhythmtrain.errors import RequestError
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.arriving import last_came, sound_came
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.storage.history.history import open_history

RAG = "supplied:29-towpath-rag"


def half_a_take(browser: TestClient) -> dict[str, Any]:
    """Begin a take and clap its first two bars; return the track."""
    told: dict[str, Any] = browser.post("/api/track", json={"passage": RAG, "bars": "1-4"}).json()
    begun = {"track": told["track"], "source": "keys", "start_s": 1.0}
    took = browser.post("/api/take", json=begun).json()
    claps = [note["time_s"] + 1.0 for note in told["notes"] if note["index"] < 2]
    clock = [[at, at] for at in np.arange(1.0, 9.0, 0.25).tolist()]
    taps = [[at, "Space", False, None] for at in claps]
    answer = browser.post(
        f"/api/take/{took['take']}/on", json={"parts": [{"part": 0, "taps": taps, "clock": clock}]}
    )
    assert answer.json() == {"parts": 1}
    return told


def killed(desk: Desk) -> None:
    """Let go of what a program holds, as the system does once it is killed."""
    desk.sitting.close()


def test_what_was_played_is_kept_when_the_program_was_killed(
    browser: TestClient, desk: Desk
) -> None:
    """The next sitting finds the take, checks it as far as it went, and says so once."""
    half_a_take(browser)
    killed(desk)
    with Desk() as later:
        assert "was checked as far as it went" in later.greetings[0]
        assert not list(later.sitting.folders.takes.iterdir())
    with open_history() as history:
        (take,) = history.takes()
    assert len(take.record.onsets) == 10
    assert take.record.document["tally"]["missed"] == 0
    with Desk() as third:
        assert not third.greetings


def test_half_a_line_at_the_end_loses_only_itself(browser: TestClient, desk: Desk) -> None:
    """A disk that stopped in the middle of a line keeps the lines before it."""
    half_a_take(browser)
    (journal,) = desk.sitting.folders.takes.iterdir()
    with journal.open("ab") as file:
        file.write(b'{"taps": [[9.5, "Spa')
    killed(desk)
    with Desk() as later:
        assert later.greetings


def played_to(browser: TestClient, track: dict[str, Any]) -> str:
    """Begin a take with ``track``, clap all of the player's notes, and return its name."""
    begun = {"track": track["track"], "source": "keys", "start_s": 1.0}
    take = browser.post("/api/take", json=begun).json()["take"]
    claps = [note["time_s"] + 1.01 for note in track["notes"] if note["yours"]]
    clock = [[at, at] for at in np.arange(1.0, track["duration_s"] + 2, 0.5).tolist()]
    part = {"part": 0, "taps": [[at, "Space", False, None] for at in claps], "clock": clock}
    browser.post(f"/api/take/{take}/on", json={"parts": [part]})
    return str(take)


def told_again(
    browser: TestClient, desk: Desk, track: dict[str, Any]
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return what is kept of the same claps, ended as usual and found after a power cut."""
    ended(browser, played_to(browser, track))
    played_to(browser, track)
    killed(desk)
    with Desk() as later:
        assert "was checked as far as it went" in later.greetings[0]
        assert not list(later.sitting.folders.takes.iterdir())
    with open_history() as history:
        found, usual = (kept.record for kept in history.takes())
    assert found.help == usual.help
    return usual.document, found.document


def test_a_try_at_an_entry_is_found_as_it_was_played(browser: TestClient, desk: Desk) -> None:
    """The lead-in was another each time: the claps are held against this try's own bars."""
    asked = {"passage": "supplied:28-towpath-entry", "bar": 11, "speed": 0.8}
    course = browser.post("/api/entry", json=asked).json()["course"]
    track = browser.post(f"/api/entry/{course}/track").json()
    usual, found = told_again(browser, desk, track)
    assert found["notes"] == usual["notes"]
    assert found["tally"]["missed"] == 0
    assert found["entries"] == usual["entries"]


def test_a_step_of_a_session_is_found_as_it_was_played(browser: TestClient, desk: Desk) -> None:
    """A few bars, slowly, with the help of that step: not the whole passage as it is written."""
    begun = browser.post("/api/session", json={"passage": RAG, "bars": "1-4"}).json()
    way = f"/api/session/{begun['session']}"
    track = browser.post(f"{way}/track").json()
    while not track["judged"]:
        browser.post(f"{way}/end")
        track = browser.post(f"{way}/track").json()
    usual, found = told_again(browser, desk, track)
    assert found["notes"] == usual["notes"]
    assert found["tally"]["missed"] == 0


@pytest.mark.parametrize(
    "rubbish", [b"", b"\x00\xff", b"{}\n", b'{"values": {"passage": "own:gone.toml"}}\n']
)
def test_a_journal_of_rubbish_does_not_keep_the_page_closed(desk: Desk, rubbish: bytes) -> None:
    """Whatever lies there, the page opens."""
    path = desk.sitting.folders.takes / "abcdefghij.jsonl"
    path.write_bytes(rubbish)
    killed(desk)
    with Desk() as later:
        assert not later.greetings
    assert not path.exists()


def test_a_second_program_leaves_the_take_of_the_first_alone(
    browser: TestClient, desk: Desk
) -> None:
    """Whoever forgot that the page is open already opens it again: nobody's take is broken off."""
    take, parts = begun(browser)
    browser.post(f"/api/take/{take}/on", json={"parts": parts[:2]})
    with Desk() as second:
        assert not second.greetings
        browser.post(f"/api/take/{take}/on", json={"parts": parts[2:]})
        heard = ended(browser, take)
        assert len(heard["document"]["take"]["onsets"]) == len(parts)
        assert not second.sitting.is_first()
        killed(desk)
        assert second.sitting.is_first()


def ended(browser: TestClient, take: str, **more: Any) -> dict[str, Any]:
    """End a take and return what was heard."""
    answer = browser.post(f"/api/take/{take}/end", json={"stopped": True, **more})
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.json()
    return told


def begun(browser: TestClient) -> tuple[str, list[dict[str, Any]]]:
    """Begin a take of two bars; return its name, and its claps as a part each."""
    told = browser.post("/api/track", json={"passage": RAG, "bars": "1-2"}).json()
    about = {"track": told["track"], "source": "keys", "start_s": 1.0}
    took = browser.post("/api/take", json=about).json()
    parts = [
        {
            "part": number,
            "taps": [[note["time_s"] + 1.0, "Space", False, None]],
            "clock": [[note["time_s"] + 1.0, note["time_s"] + 1.0]],
        }
        for number, note in enumerate(told["notes"])
    ]
    return took["take"], parts


def test_what_was_not_sent_yet_goes_with_the_farewell(browser: TestClient) -> None:
    """The last claps before the page closed are heard, though nothing was sent of them before."""
    take, parts = begun(browser)
    browser.post(f"/api/take/{take}/on", json={"parts": parts[:3]})
    heard = ended(browser, take, parts=parts[3:])
    assert len(heard["document"]["take"]["onsets"]) == len(parts)


def farewell(runs: list[tuple[int, bytes]], **told: Any) -> bytes:
    """Return what a page that closes before a microphone leaves: what it says, then its samples."""
    rows = [[frame, len(data) // 2] for frame, data in runs]
    return json.dumps({"sound": rows, **told}).encode() + b"\n" + b"".join(data for _, data in runs)


def test_the_last_sound_comes_with_the_farewell_where_it_belongs(desk: Desk) -> None:
    """One body for all that is left: nothing of it can cross the end of the take and be refused."""
    name = desk.sitting.journals.begin({"source": "mic"})
    come = Asked({"take": name, "frame": 0}, np.array([1, 2], "<i2").tobytes())
    sound_came(desk.sitting, come)
    runs = [(1, np.array([2, 3], "<i2").tobytes()), (5, np.array([6, 7], "<i2").tobytes())]
    parts = [{"part": 4, "taps": [], "clock": [[1.0, 2.0]], "levels": []}]
    journal = last_came(desk.sitting, Asked({"take": name}, farewell(runs, parts=parts)))
    assert (journal.sound(0, 44_100) * 32_767).tolist() == [1, 2, 3, 0, 0, 6, 7]
    assert [line.get("part") for line in journal.lines()] == [None, 4]


@pytest.mark.parametrize(
    "body",
    [b"\n", b"[]\n", b"{", b"\xff\xfe\n", b'{"sound": [[0, 2]]}\n123', b'{"sound": [[1e300, 2]]}\n1234',
     b'{"sound": [7]}\n', b'{"parts": 3}\n', b"[" * 100_000],
)  # fmt: skip
def test_a_farewell_of_rubbish_ends_nothing(desk: Desk, browser: TestClient, body: bytes) -> None:
    """One sentence, and the take is still there to be found."""
    name = desk.sitting.journals.begin({"source": "mic"})
    answer = browser.post(f"/api/take/{name}/end?stopped=true", content=body)
    assert answer.status_code == 422, answer.text
    assert [journal.name for journal in desk.sitting.journals.unfinished()] == [name]


def test_a_part_that_comes_twice_is_one_clap(browser: TestClient) -> None:
    """A page that does not know whether its last part arrived sends it again: nothing is doubled."""
    take, parts = begun(browser)
    browser.post(f"/api/take/{take}/on", json={"parts": parts})
    heard = ended(browser, take, parts=parts[-4:])
    assert len(heard["document"]["take"]["onsets"]) == len(parts)
    assert heard["document"]["tally"]["extra"] == 0


def test_nothing_comes_after_the_farewell(desk: Desk) -> None:
    """What crosses the farewell on its way is refused: it does not come back as a take."""
    journals = desk.sitting.journals
    name = journals.begin({"source": "mic"})
    journal = journals.end(name)
    with pytest.raises(RequestError, match="that take is over"):
        journals.add(name, {"part": 1})
    with pytest.raises(RequestError, match="that take is over"):
        journals.add_sound(name, 0, bytes(8))
    assert journal.lines() == [{"source": "mic"}]
    journal.gone()
    assert not list(desk.sitting.folders.takes.iterdir())


def test_a_take_ends_once(browser: TestClient) -> None:
    """A page that closes while it ends its take does not make two takes of it."""
    take, parts = begun(browser)
    browser.post(f"/api/take/{take}/on", json={"parts": parts})
    ended(browser, take)
    again = browser.post(f"/api/take/{take}/end", json={"stopped": True})
    assert "over" in again.json()["sentence"]
    with open_history() as history:
        assert len(list(history.takes())) == 1


@pytest.mark.parametrize(
    "part",
    [7, {}, {"part": 0, "levels": [[1.0]]}, {"part": 0, "taps": [[1.0]]}, {"part": "x"}],
)
def test_a_part_that_is_none_is_refused(browser: TestClient, part: object) -> None:
    """Whatever a page sends, it gets a sentence."""
    take, _ = begun(browser)
    answer = browser.post(f"/api/take/{take}/on", json={"parts": [part]})
    assert answer.status_code == 422
    assert answer.json()["sentence"]
