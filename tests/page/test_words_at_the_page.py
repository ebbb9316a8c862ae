"""No sentence that reaches the page tells a person to type: it names a place or a field there."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import rhythmtrain
from rhythmtrain.cli.main import commands
from rhythmtrain.rehearsal.desk.page_words import CLAUSES, OPTIONS, at_the_page, told_at_the_page
from tests.page.asking import posted

PACKAGE = Path(rhythmtrain.__file__).parent
# An option, or the program with a command after it, or anything quoted to be typed.
TYPED = re.compile(rf"(?<![\w-])--[a-z]|\brhythmtrain (?:{'|'.join(commands.commands)})\b|`[^`]*`")
# What names a command where there is no other way: how one installs, and how one opens the page.
INSTALLING = re.compile(r"`(?:pip|sudo) [^`]*`|`?rhythmtrain open`?")
# Rooms that make what one types, or speak to a terminal of its devices: none of it goes to the page.
FOR_A_TERMINAL = frozenset({
    "devices/keys.py", "devices/midi_in.py", "devices/midi_ports.py", "devices/portaudio.py",
    "page/serve.py", "rehearsal/classes/wish.py", "rehearsal/live/rigs.py",
    "rehearsal/mapping/live.py", "rehearsal/practising/wish.py", "report/days/history_text.py",
    "report/days/text.py", "report/maps/text.py", "report/take/commands.py",
    "report/take/entry_course.py",
})  # fmt: skip


def modules() -> dict[str, Path]:
    """Return every module of the package by its name."""
    found = {}
    for path in PACKAGE.rglob("*.py"):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts).removesuffix(".__init__")] = path
    return found


def imported(path: Path) -> Iterator[str]:
    """Yield the names that a module takes from others of the package."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("rhythmtrain"):
            yield node.module or ""
            yield from (f"{node.module}.{each.name}" for each in node.names)


def behind_the_page() -> list[Path]:
    """Return the modules that the page can call, directly or by others."""
    known = modules()
    seen: set[str] = set()
    waiting = [name for name in known if name.startswith("rhythmtrain.page")]
    while waiting:
        name = waiting.pop()
        if name in known and name not in seen:
            seen.add(name)
            waiting += imported(known[name])
    return sorted(known[name] for name in seen)


def sentences(path: Path) -> Iterator[tuple[int, str]]:
    """Yield the texts of a module that are no docstring, a 7 in place of what is filled in."""
    tree = ast.parse(path.read_text("utf-8"))
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


def test_no_sentence_that_reaches_the_page_names_what_one_types() -> None:
    """A new sentence with an option in it fails here until the table says it for the page."""
    paths = behind_the_page()
    assert len(paths) > 300
    left = []
    for path in paths:
        here = path.relative_to(PACKAGE).as_posix()
        if here in FOR_A_TERMINAL or here.endswith(("/page_words.py", "/typed_words.py")):
            continue
        for line, sentence in sentences(path):
            told = INSTALLING.sub("", at_the_page(sentence))
            if TYPED.search(told) and " " in sentence:
                left.append(f"{here}:{line}: {told}")
    assert not left, "\n".join(left)


def test_every_control_that_is_named_is_there() -> None:
    """A field that is called otherwise today helps nobody."""
    scripts = "\n".join(path.read_text("utf-8") for path in (PACKAGE / "page/static").glob("*.js"))
    said = " ".join([*(words for _, words in CLAUSES), *OPTIONS.values()])
    named = set(
        re.findall("\N{LEFT DOUBLE QUOTATION MARK}(.*?)\N{RIGHT DOUBLE QUOTATION MARK}", said)
    )
    assert len(named) > 15
    assert [each for each in sorted(named) if each not in scripts] == []


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (
            "if not, say where a bar between begins (--at 5=SECONDS).",
            "if not, move the beat where a bar between begins to where you hear it.",
        ),
        (
            "in bar 9 or wherever you hear it (--at 9=21.70); if",
            "in bar 9 or wherever you hear it; if",
        ),
        (
            "say so with --order 1-8,1-8 (or what it is), or --order written if the notes are",
            "say so under \u201cbars as the recording plays them\u201d: 1-8,1-8 (or what it is), or the word written if the notes are",
        ),
        ("told.\n\nTo type next:\n  rhythmtrain track off-beats -o a.flac --speed 0.5", "told."),
        ("rhythmtrain clap off-beats --tempo 60 --repeats 4", ""),
        ("of 2 parts, part 1 is taken (say another\nwith --part)",
         "of 2 parts, part 1 is taken (choose another under \u201cWhose part\u201d)"),
        ("two -- three, and rhythmtrain by itself", "two -- three, and rhythmtrain by itself"),
        ("an option nobody knows: --sideways", "an option nobody knows: --sideways"),
    ],
)  # fmt: skip
def test_a_sentence_names_the_page_instead_of_what_one_types(typed: str, told: str) -> None:
    """Word for word."""
    assert at_the_page(typed) == told


def test_what_a_program_reads_stays_as_it_is() -> None:
    """The document of a take is the command's own, and a passage's text is the person's."""
    answer = {
        "document": {"notes": ["give --tempo"]},
        "text": "# rhythmtrain show --bars",
        "heard": {"not_heard": [{"recording": "--bars.wav", "why": "give --tempo"}]},
        "said": [["First", "give --tempo"], 7],
        "systems": ["<svg>--bars</svg>"],
        "trouble": None,
    }
    said = "say the beats a minute"
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
