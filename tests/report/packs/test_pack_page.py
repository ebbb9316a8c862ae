"""The page of a pack: in practice order, readable by everybody, and asking nobody else."""

import re
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.coach.practice_order import Step
from rhythmtrain.report.packs import page as module
from rhythmtrain.report.packs.page import PackedPassage, PackedTrack, pack_page
from rhythmtrain.report.packs.text import CAUTIONS
from rhythmtrain.score.drill.drill import read_drill

DRILL = """title = "Towpath & <Lock>"
about = "Off the beat, then over the bar line."
metre = "2/4"
tempo = 72
rhythm = "1 e [&] a 2 & | (1) & a 2 | rest 3 | (1) & 2"
"""
STEPS = ["Listen", "Echo", "Clap with help", "Clap alone", "Faster"]
VOID = {"meta", "link", "input", "br", "img", "hr"}
LOOK = Path(module.__file__).parents[1] / "templates" / "look.css"


class Read(HTMLParser):
    """A page as read: tags with their attributes and what they stand in, and the text in them."""

    def __init__(self, page: str) -> None:
        """Read ``page`` from beginning to end."""
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str], tuple[str, ...]]] = []
        self.text: dict[str, str] = {}
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert not self.open, f"left open: {self.open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag, and step into it."""
        self.tags.append((tag, {key: value or "" for key, value in attrs}, tuple(self.open)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Step out of a tag, which must be the one last opened."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Keep what a person reads."""
        if data.strip() and not {"script", "style"} & set(self.open):
            self.words.append(" ".join(data.split()))

    def all(self, tag: str) -> list[dict[str, str]]:
        """Return the attributes of every ``tag``."""
        return [found for name, found, _ in self.tags if name == tag]


def packed(folder: str = "towpath", tempi: tuple[int, ...] = (36, 48, 72)) -> PackedPassage:
    """Return a passage with its files at several tempi."""
    passage = read_drill(DRILL, name="towpath.toml").passage
    assert passage is not None
    tracks = [PackedTrack(step, f"quarter = {tempi[0]}", f"{folder}/0-{step}") for step in Step]
    for tempo in tempi[1:]:
        tracks += [
            PackedTrack(step, f"quarter = {tempo}", f"{folder}/{tempo}-{step}.mp3")
            for step in (Step.WITH_HELP, Step.ALONE)
        ]
    midi = tuple((f"quarter = {tempo}", f"{folder}/midi-{tempo}.mid") for tempo in tempi)
    return PackedPassage(passage, folder, tuple(tracks), midi)


def addresses(read: Read) -> list[str]:
    """Return every address on the page that is not a place on it."""
    found = [
        tag[key]
        for _, tag, _ in read.tags
        for key in ("src", "href", "data", "action")
        if key in tag
    ]
    return [address for address in found if not address.startswith(("#", "data:"))]


@pytest.mark.parametrize("many", [1, 3])
def test_the_page_asks_nothing_of_any_other_place(many: int) -> None:
    """It must play in a lesson without a network, and tell nobody who practises."""
    page = pack_page([packed(f"p{number}") for number in range(many)])
    for address in addresses(Read(page)):
        parts = urlsplit(address)
        assert not parts.scheme
        assert not parts.netloc
        assert not address.startswith("/")
    assert "http" not in page
    assert not re.search(r"url\(|@import|fetch\(|XMLHttp|sendBeacon", page)


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0/"), min_size=1))
def test_a_folder_of_any_name_is_linked_so_that_it_is_found(folder: str) -> None:
    """Blanks, accents, # and % in a name stop no track from playing."""
    part = packed(folder)
    found = addresses(Read(pack_page([part])))
    assert all(urlsplit(address).path == address for address in found)
    wanted = [track.file for track in part.tracks] + [file for _, file in part.midi]
    assert [unquote(address) for address in found] == wanted


def test_steps_stand_in_practice_order_with_a_box_each() -> None:
    """Listen, echo, with help, alone, faster: and a box for each tempo after the first."""
    read = Read(pack_page([packed()]))
    assert [word for word in read.words if word in STEPS and word] != []
    first = [read.words.index(step) for step in STEPS]
    assert first == sorted(first)
    ticks = [tag["data-tick"] for tag in read.all("input") if "data-tick" in tag]
    assert ticks == [
        "towpath/listen", "towpath/echo", "towpath/with help", "towpath/alone",
        "towpath/faster/48", "towpath/faster/72",
    ]  # fmt: skip


def test_everything_to_press_has_a_name_that_says_what_and_how_fast() -> None:
    """A screen reader says "clap alone, quarter = 48", not "button"."""
    read = Read(pack_page([packed(), packed("other")]))
    for tag, found, inside in read.tags:
        if tag == "input":
            assert "label" in inside or found.get("aria-label")
        if tag == "audio":
            assert re.fullmatch(r".+, quarter = \d+", found["aria-label"])
    labels = [tag["aria-label"] for tag in read.all("button") if "data-plays" in tag]
    assert labels[:4] == [f"{step}, quarter = 36" for step in STEPS[:4]]
    assert labels[4:6] == ["With help, quarter = 48", "Alone, quarter = 48"]


def test_places_on_the_page_are_there_once() -> None:
    """Every rung of the ladder leads to its tempo."""
    read = Read(pack_page([packed(), packed("other")]))
    ids = Counter(tag["id"] for _, tag, _ in read.tags if "id" in tag)
    assert max(ids.values()) == 1
    inner = [tag["href"][1:] for tag in read.all("a") if tag["href"].startswith("#")]
    assert len(inner) == 2 * 3
    assert set(inner) <= set(ids)
    assert {tag["data-plays"] for tag in read.all("button") if "data-plays" in tag} <= set(ids)


def test_without_script_the_browser_itself_plays_the_tracks() -> None:
    """An old phone, or one that blocks scripts, still plays everything."""
    read = Read(pack_page([packed()]))
    players = read.all("audio")
    assert len(players) == 8
    assert all("controls" in tag and tag["preload"] == "none" for tag in players)
    assert all("hidden" in tag for tag in read.all("button") if "data-plays" in tag)


def test_the_ladder_and_the_hard_places_are_said_in_words() -> None:
    """The page stands alone: nobody has to go back to a terminal for what is hard."""
    text = " ".join(Read(pack_page([packed()])).words)
    assert "quarter = 36 48 72" in text
    assert "2/4, six bars, written at quarter = 72" in text
    assert "Where it is hard" in text
    assert "Bar 1: the e of 1 is held over the and of 1." in text
    assert "you come in on the and of 1, after three bars' rest" in text
    assert "(1)" in text


def test_the_cautions_stand_on_the_page_once() -> None:
    """Said once and briefly, before the first track."""
    for many in (1, 2):
        words = Read(pack_page([packed(str(number)) for number in range(many)])).words
        assert words.count(CAUTIONS) == 1
        assert words.index(CAUTIONS) < words.index("Listen")


def test_titles_are_text_and_never_become_part_of_the_page() -> None:
    """A title with signs of HTML in it is shown as it was written."""
    read = Read(pack_page([packed()]))
    assert "Towpath & <Lock>" in read.words
    assert "lock" not in {tag for tag, _, _ in read.tags}


def test_one_passage_gives_the_page_its_title_and_several_are_counted() -> None:
    """A student sees at once what was handed out."""
    assert "<title>Towpath &amp; &lt;Lock&gt;</title>" in pack_page([packed()])
    assert "<title>Two rhythms to practise</title>" in pack_page([packed(), packed("b")])


def test_a_ladder_of_one_tempo_has_nothing_faster() -> None:
    """At the written tempo from the start, no empty heading is left over."""
    assert "Faster" not in Read(pack_page([packed(tempi=(72,))])).words


def test_words_stand_out_from_the_paper() -> None:
    """Tired eyes read it too: WCAG 2.2, 1.4.3 asks 4.5 to 1 for text, 1.4.11 3 to 1 for edges."""
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", LOOK.read_text(encoding="utf-8")))
    for ground in ("paper", "soft"):
        assert contrast(colours["ink"], colours[ground]) >= 7
        assert contrast(colours["quiet"], colours[ground]) >= 4.5
        assert contrast(colours["edge"], colours[ground]) >= 3
        assert contrast(colours["focus"], colours[ground]) >= 3


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours (WCAG 2.2, relative luminance)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb"."""
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
