"""What can be done is a value below the edges, and each edge has its own words for all of it."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import rhythmtrain
from rhythmtrain.cli.main import commands
from rhythmtrain.rehearsal.desk.page_words import (
    AT_THE_PAGE,
    OPTIONS,
    REMEDIES,
    at_the_page,
    told_at_the_page,
)
from rhythmtrain.rehearsal.typed_words import REMEDIES as TYPED_REMEDIES
from rhythmtrain.rehearsal.typed_words import TYPED, as_typed
from rhythmtrain.remedies import OPTION, option, remedy
from tests.page.asking import posted

PACKAGE = Path(rhythmtrain.__file__).parent
NAMES = "|".join(commands.commands)
# An option, or the program with a command after it, or anything quoted to be typed.
NAMES_WHAT_ONE_TYPES = re.compile(rf"(?<![\w-])--[a-z]|\brhythmtrain (?:{NAMES})\b|`[^`]*`")
# What names a command where there is no other way: how one installs, and how one opens the page.
INSTALLING = re.compile(r"`(?:pip|sudo) [^`]*`|`?rhythmtrain open`?")
# Rooms that make the very command to type, or a text that only a terminal shows.
FOR_A_TERMINAL = frozenset({
    "rehearsal/classes/wish.py", "rehearsal/passages/drills.py", "report/days/history_text.py",
    "report/days/text.py", "report/demo_text.py", "report/devices_text.py",
    "report/maps/text.py", "report/take/commands.py", "report/take/entry_course.py",
})  # fmt: skip
EDGES = ("cli/", "page/", "__main__.py", "rehearsal/typed_words.py")


def rooms() -> Iterator[tuple[str, ast.Module]]:
    """Yield every module below the edges, by where it stands."""
    for path in sorted(PACKAGE.rglob("*.py")):
        here = path.relative_to(PACKAGE).as_posix()
        if not here.startswith(EDGES):
            yield here, ast.parse(path.read_text("utf-8"))


def sentences(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Yield the texts of a module that are no docstring, a 7 in place of what is filled in."""
    skipped: set[int] = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list) and body and isinstance(body[0], ast.Expr):
            skipped.add(id(body[0].value))
        if isinstance(node, ast.JoinedStr):
            skipped |= {id(each) for each in ast.walk(node)} - {id(node)}
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.JoinedStr):
            yield (
                node.lineno,
                "".join(
                    str(each.value) if isinstance(each, ast.Constant) else "7"
                    for each in node.values
                ),
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


def said_below() -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield whatever can be done by its name, with a 7 for each thing that it is done with."""
    for here, tree in rooms():
        for node in ast.walk(tree):
            called = (
                node.func.id
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
                else ""
            )
            if called not in {"option", "remedy"} or here == "remedies.py":
                continue
            assert isinstance(node, ast.Call)
            first, *given = node.args
            assert isinstance(first, ast.Constant), f"{here}:{node.lineno}: say it by its name"
            many = sum(2 if isinstance(each, ast.Starred) else 1 for each in given)
            name = str(first.value)
            yield (OPTION, (name, *"7" * many)) if called == "option" else (name, ("7",) * many)


BELOW = sorted(set(said_below()))


def test_no_sentence_below_the_edges_names_what_one_types() -> None:
    """It is read at the page as well: it says what can be done as a value."""
    left, seen = [], 0
    for here, tree in rooms():
        seen += 1
        if here in FOR_A_TERMINAL:
            continue
        for line, sentence in sentences(tree):
            if NAMES_WHAT_ONE_TYPES.search(INSTALLING.sub("", sentence)):
                left.append(f"{here}:{line}: {sentence}")
    assert seen > 500
    assert not left, "\n".join(left)


@pytest.mark.parametrize(("name", "given"), BELOW, ids=[" ".join((n, *g)) for n, g in BELOW])
def test_both_edges_have_a_word_for_what_can_be_done(name: str, given: tuple[str, ...]) -> None:
    """With room on the command line for everything that it is done with, and no more."""
    assert "{" not in AT_THE_PAGE.said(name, *given)
    assert TYPED.said(name, *given).count("7") >= len(given) - (name == OPTION)
    if given and name != OPTION:
        with pytest.raises(IndexError):
            TYPED.said(name, *given[:-1])


def test_no_edge_has_words_that_nobody_says() -> None:
    """A word for what is no longer said misleads whoever reads the table."""
    remedies = {name for name, _ in BELOW} - {OPTION}
    assert set(REMEDIES) == set(TYPED_REMEDIES) == remedies
    assert set(OPTIONS) == {given[0] for name, given in BELOW if name == OPTION}


def test_every_option_that_is_named_is_one_of_the_command_line() -> None:
    """What one is told to type is there to be typed."""
    known = {
        name.removeprefix("--")
        for command in commands.commands.values()
        for parameter in command.params
        for name in parameter.opts
    }
    assert {given[0] for name, given in BELOW if name == OPTION} <= known
    told = " ".join(TYPED_REMEDIES.values())
    assert set(re.findall(r"(?<![\w-])--([a-z-]+)", told)) - {"all"} <= known


def test_the_page_names_nothing_that_one_types() -> None:
    """There one has fields and buttons."""
    said = [*REMEDIES.values(), *OPTIONS.values()]
    assert [each for each in said if NAMES_WHAT_ONE_TYPES.search(each)] == []


def test_every_control_that_is_named_is_there() -> None:
    """A field that is called otherwise today helps nobody."""
    scripts = "\n".join(path.read_text("utf-8") for path in (PACKAGE / "page/static").rglob("*.js"))
    said = " ".join([*REMEDIES.values(), *OPTIONS.values()])
    named = set(
        re.findall("\N{LEFT DOUBLE QUOTATION MARK}(.*?)\N{RIGHT DOUBLE QUOTATION MARK}", said)
    )
    assert len(named) > 15
    assert [each for each in sorted(named) if each not in scripts] == []


@pytest.mark.parametrize(
    ("sentence", "typed", "clicked"),
    [
        (
            f"if not, {remedy('mark-between', 5)}.",
            "if not, say where a bar between begins (--at 5=SECONDS).",
            "if not, move the beat where a bar between begins to where you hear it.",
        ),
        (
            f"wherever you hear it{remedy('by-value', 'at', '9=21.70')}; if",
            "wherever you hear it (--at 9=21.70); if",
            "wherever you hear it; if",
        ),
        (
            f"{remedy('say-order', '1-8,1-8', 'written')} if",
            "say so with --order 1-8,1-8 (or what it is), or --order written if",
            (
                "say so under \u201cbars as the recording plays them\u201d: 1-8,1-8 (or what it is), "
                "or the word written if"
            ),
        ),
        (
            f"say the metre, such as {remedy('value', 'metre', '2/4')}, or give {option('tempo')}",
            "say the metre, such as --metre 2/4, or give --tempo",
            "say the metre, such as 2/4, or give the beats a minute",
        ),
        ("two -- three: --sideways", "two -- three: --sideways", "two -- three: --sideways"),
    ],
)
def test_each_edge_says_it_its_own_way(sentence: str, typed: str, clicked: str) -> None:
    """Word for word."""
    assert as_typed(sentence) == typed
    assert at_the_page(sentence) == clicked


def test_a_persons_own_words_stay_as_they_are() -> None:
    """A passage's text and a file's name may hold what looks like an option."""
    give = f"give {option('tempo')}"
    answer = {
        "text": "# rhythmtrain show --bars",
        "heard": {"not_heard": [{"recording": "--bars.wav", "why": give}]},
        "said": [["First", give], 7],
        "trouble": None,
    }
    said = "give the beats a minute"
    assert told_at_the_page(answer) == answer | {
        "heard": {"not_heard": [{"recording": "--bars.wav", "why": said}]},
        "said": [["First", said], 7],
    }


def test_reports_and_refusals_tell_nobody_to_type(browser: TestClient) -> None:
    """The whole report, the days, a take shown again, and a sentence that says no."""
    rag = "supplied:29-towpath-rag"
    track = posted(browser, "/api/track", passage=rag, bars="1-4", speed=0.6)
    took = posted(browser, "/api/take", track=track["track"], source="keys", start_s=0.0)
    taps = [
        [note["time_s"] + 0.1 * (k == 8), "Space", False, None]
        for k, note in enumerate(track["notes"])
    ]
    clock = [[at / 2, at / 2] for at in range(1, 60)]
    posted(
        browser, f"/api/take/{took['take']}/on", parts=[{"part": 0, "taps": taps, "clock": clock}]
    )
    told = posted(browser, f"/api/take/{took['take']}/end", stopped=False)
    assert "Settings, Sound delay, measures it." in " ".join(told["print"])
    report = browser.get(f"/api/heard/{told['heard']}/report").text
    assert "Settings, Sound delay, measures it." in report
    days = browser.get("/api/days/page").text
    shown = browser.get(f"/api/kept/{told['kept_as']}").json()["text"]
    for page in (report, days, shown):
        assert "Towpath Rag" in page
        assert "rhythmtrain " not in page.replace("rhythmtrain open", "")
    asked = {"passage": "supplied:28-towpath-entry", "recorded": True}
    sentence = browser.post("/api/track", json=asked).json()["sentence"]
    assert sentence.endswith("has no recorded accompaniment: give it one under Recording")
    drill = 'title = "March"\nmetre = "2/4"\ntempo = 80\nrhythm = "1 2"\n'
    own = posted(browser, "/api/passage/write", text=drill)["name"]
    sentence = browser.post("/api/track", json={"passage": own, "recorded": True}).json()[
        "sentence"
    ]
    assert sentence.startswith(f"{own.removeprefix('own:')} has no recorded")
