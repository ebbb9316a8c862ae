"""The report page: one file, well formed, every button with its sound, nothing from elsewhere."""

import base64
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from rhythmtrain.assess.findings import Try
from rhythmtrain.report.take.advice import advice
from rhythmtrain.report.take.page import Section, check_page
from rhythmtrain.report.take.picture import timing_picture
from rhythmtrain.report.take.praise import Heard
from tests.simulate.heard import Amiss, heard_of, passage_of

EMPTY = {"meta", "link", "br", "hr", "img", "input", "source", "path", "use"}
UPBEAT = passage_of("2 & | 1 2 | rest 4 | (1) & 2 | 1 2", title="Rag & <Reel>")
AMISS = Amiss(
    {(1, "2", 1): 0.2, (6, "2", 1): 0.06},
    missed=frozenset({(0, "2", 1)}),
    unchecked=frozenset({(7, "1", 1)}),
    came={(6, "1&", 1): "one beat early"},
)
CLIPS = {0: b"upbeat", 1: b"one", 6: b"six"}


class _Page(HTMLParser):
    """A page read strictly: tags closed in order, identities once."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in EMPTY:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """Return the attributes of every ``tag``."""
        return [attrs for name, attrs in self.tags if name == tag]


def _section(
    heard: Heard, picture: str = "<svg></svg>", clips: dict[int, bytes] = CLIPS
) -> Section:
    return Section(heard, advice(heard, name="rag.toml"), "take.m4a", picture, clips)


def _page(*sections: Section) -> _Page:
    return _Page(check_page(sections, title="What was heard"))


@pytest.fixture
def page() -> _Page:
    """Return a page of two takes with a real picture."""
    heard, timeline = heard_of(UPBEAT, AMISS)
    section = _section(heard, timing_picture(heard, timeline))
    return _page(section, section)


def test_every_identity_stands_once_and_labels_point_to_one(page: _Page) -> None:
    """Two takes on a page do not mix up their sounds or labels."""
    known = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(known) == len(set(known))
    used = {str(attrs["xlink:href"])[1:] for attrs in page.all("use")}
    assert used
    assert used <= set(known)
    labels = {attrs["aria-labelledby"] for _, attrs in page.tags if "aria-labelledby" in attrs}
    assert labels <= {attrs.get("id") for _, attrs in page.tags}


def test_every_button_has_its_sound_and_every_sound_its_button(page: _Page) -> None:
    """A button plays that bar of the take, then as written."""
    sounds = {attrs["id"]: attrs["src"] for attrs in page.all("audio")}
    asked = {attrs["data-clip"] for attrs in page.all("button")}
    assert asked == set(sounds)
    assert sounds["s1b6"] == f"data:audio/mpeg;base64,{base64.b64encode(b'six').decode()}"
    assert "hear the upbeat" in page.words
    assert all(attrs["type"] == "button" for attrs in page.all("button"))


def test_nothing_is_asked_of_another_place(page: _Page) -> None:
    """It opens in a train, and tells nobody what was played."""
    for tag, attrs in page.tags:
        for name in ("src", "href", "xlink:href", "action", "data", "srcset"):
            value = attrs.get(name) or "#"
            assert value.startswith(("#", "data:audio/mpeg;base64,")), (tag, name, value)
    style = re.findall(r"url\(([^)]*)\)", check_page([_section(heard_of(UPBEAT)[0])], title="x"))
    assert all(place.startswith("#") for place in style)


def test_words_of_a_stranger_stay_words(page: _Page) -> None:
    """A title is text, whatever stands in it."""
    assert "Rag & <Reel>" in page.words
    assert "reel" not in {tag for tag, _ in page.tags}


def test_the_findings_are_said(page: _Page) -> None:
    """The entry, the table, every note, and a line for the teacher."""
    for words in (
        "bar 6, the and of 1", "one beat early", "after four bars of rest", "the upbeat, beat 2",
        "not heard", "late by 200 ms", "a little late", "not checked", "From your teacher:",
        "How long you held notes was not checked.", "Nothing here replaces a teacher.",
        "the marks are seen from where you came in",
    ):  # fmt: skip
        assert words in page.words, words
    assert page.all("div")[0]["role"] == "img"
    assert any(attrs.get("contenteditable") == "true" for attrs in page.all("div"))


def test_it_can_be_read_by_ear_and_by_key(page: _Page) -> None:
    """A language, headings in order, rows with a head, buttons that say their state."""
    assert page.all("html")[0]["lang"] == "en"
    headings = [tag for tag, _ in page.tags if re.fullmatch(r"h\d", tag)]
    assert headings[:3] == ["h1", "h2", "h3"]
    assert all(attrs["scope"] in ("row", "col") for attrs in page.all("th"))
    assert all(attrs["aria-pressed"] == "false" for attrs in page.all("button"))
    assert "width=device-width" in str(page.all("meta")[1]["content"])


def _luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize(
    ("ink", "paper"),
    [
        ("#1c1c1c", "#fffdf8"),
        ("#5a5448", "#fffdf8"),
        ("#1c1c1c", "#f1ece0"),
        ("#5f5f5f", "#ffffff"),
    ],
)
def test_words_stand_out_from_the_paper(ink: str, paper: str) -> None:
    """At least 4.5 to 1 (WCAG 2.2, 1.4.3)."""
    text = check_page([_section(heard_of(UPBEAT)[0], timing_picture(*heard_of(UPBEAT)))], title="x")
    assert ink in text
    light, dark = _luminance(paper), _luminance(ink)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_a_good_take_has_a_short_page() -> None:
    """No table where nothing needs a word, no caption for what is not there."""
    page = _page(_section(heard_of(passage_of("1 2 | 1 2"))[0], clips={}))
    assert page.all("button") == []
    assert "What was heard" not in page.words.replace("What was heard", "", 2)
    assert "several times" not in page.words
    assert "Hear bar" not in page.words
    assert "Every note was there and in time." in page.words


def test_a_bad_take_shows_a_dozen_lines_and_keeps_the_others_folded() -> None:
    """The picture comes soon; each bar has one button, however much is said of it."""
    long = passage_of(" | ".join(["1 & 2 &"] * 4))
    spots = [(note.bar, note.count, 1) for note in heard_of(long)[0].findings.notes]
    heard, _ = heard_of(long, Amiss(missed=frozenset(spots[1:])))
    page = _page(_section(heard, clips={1: b"one", 2: b"two", 4: b"four"}))
    assert "and 3 more" in page.words
    asked = [attrs["data-clip"] for attrs in page.all("button")]
    assert asked == ["s1b1", "s1b2", "s1b4"]


def test_repeats_are_explained_where_there_are_any() -> None:
    """A line for each, the first on top."""
    page = _page(_section(heard_of(UPBEAT, repeats=2)[0]))
    assert "has a line for each, the first on top" in page.words


def test_another_piece_is_not_judged_on_the_page() -> None:
    """Words only: no table, no picture, no notes."""
    heard, _ = heard_of(UPBEAT, AMISS)
    other = replace(heard, findings=replace(heard.findings, looks_like=False, tempo_found=True))
    page = _page(_section(other, picture="", clips={}))
    assert "This does not sound like Rag & <Reel>." in page.words
    assert "(found from the take)" in page.words
    assert page.all("table") == []
    assert not any(attrs.get("role") == "img" for attrs in page.all("div"))


def test_several_tries_are_said_under_the_title() -> None:
    """Which one is told of."""
    heard, _ = heard_of(UPBEAT)
    tries = (Try(0, 7, 2.0, complete=True),) * 2
    page = _page(_section(replace(heard, findings=replace(heard.findings, tries=tries))))
    assert "Two tries were heard; this is about number 1" in page.words


def test_a_very_long_take_lists_its_first_two_thousand_notes() -> None:
    """The page stays light; the JSON has them all."""
    long = passage_of(" | ".join(["1 e & a 2 e & a"] * 260))
    page = _page(_section(heard_of(long)[0], clips={}))
    assert "and 80 more" in page.words
    assert len(page.all("tr")) == 2001
