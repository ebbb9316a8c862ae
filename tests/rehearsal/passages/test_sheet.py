"""Practice sheets as files: nothing on top of anything else, whole, and refused in one line."""

import re
import sys
from functools import cache
from itertools import combinations
from pathlib import Path
from xml.etree.ElementTree import Element

import pytest
from defusedxml.ElementTree import fromstring
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from matplotlib.transforms import BboxBase
from pypdf import PdfReader

from rhythmtrain.errors import DrillError, FileError, MissingPartError, RequestError
from rhythmtrain.rehearsal.passages.sheet import SheetWish, make_sheet
from rhythmtrain.storage.drills import shipped_drills

SVG = "{http://www.w3.org/2000/svg}"
NAMES = tuple(drill.name for drill in shipped_drills())
TIMES = FontProperties(family="STIXGeneral")  # Times' widths, and always beside matplotlib
Box = tuple[float, float, float, float]


@cache
def printed(words: str, size: float) -> BboxBase:
    """Return where the ink of some words lies, from their beginning on the line."""
    return TextPath((0, 0), words, size=size, prop=TIMES).get_extents()


def boxes(system: Element) -> list[tuple[str, Box]]:
    """Return every text of a system with its (left, top, right, bottom) in the drawing's units."""
    found = []
    for text in system.iter(SVG + "text"):
        words = " ".join("".join(text.itertext()).split())
        sizes = [float(t.attrib["font-size"][:-2]) for t in text.iter() if "font-size" in t.attrib]
        size = max(sizes)
        place = next((t for t in text.iter() if "x" in t.attrib and "y" in t.attrib), text)
        x, y = float(place.get("x", 0)), float(place.get("y", 0))
        if not words or not words.isascii():
            continue
        extent = printed(words, size)
        shift = extent.width / 2 if text.get("text-anchor") == "middle" else 0
        found.append(
            (words, (x + extent.x0 - shift, y - extent.y1, x + extent.x1 - shift, y - extent.y0))
        )
    return found


def overlap(one: Box, other: Box) -> bool:
    """Return whether two boxes share any paper."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@pytest.mark.parametrize(
    ("staff", "counting", "paper"),
    [
        ("one", "numbers", "a4"),
        ("one", "takadimi", "letter"),
        ("five", "numbers", "letter"),
        ("five", "takadimi", "a4"),
    ],
)
def test_no_two_texts_overlap_on_any_supplied_drill(
    tmp_path: Path, staff: str, counting: str, paper: str
) -> None:
    """What is printed can be read."""
    wish = SheetWish(NAMES, staff=staff, counting=counting, count_rests=staff == "one", paper=paper)
    told = make_sheet(wish, tmp_path / "all.svg")
    texts = 0
    for file in told.files:
        for system in fromstring(file.read_text(encoding="utf-8")).iter(SVG + "svg"):
            if system.get("class") != "definition-scale":
                continue
            found = boxes(system)
            texts += len(found)
            clashes = [(a[0], b[0]) for a, b in combinations(found, 2) if overlap(a[1], b[1])]
            assert not clashes
    assert texts > 500


PLACED = re.compile(r'class="s\d+" transform="translate\(([\d.]+), ([\d.]+)\)"')


@pytest.mark.parametrize(("paper", "wide", "high"), [("a4", 210, 297), ("letter", 215.9, 279.4)])
def test_pages_fill_the_paper_and_nothing_lies_beside_it(
    tmp_path: Path, paper: str, wide: float, high: float
) -> None:
    """A sheet is printed on what there is in the house, systems and pencil's room whole."""
    told = make_sheet(SheetWish(NAMES[:12], paper=paper), tmp_path / "s.svg")
    assert len(told.files) > 1
    for file in told.files:
        text = file.read_text(encoding="utf-8")
        page = fromstring(text)
        assert (page.get("width"), page.get("height")) == (f"{wide:g}mm", f"{high:g}mm")
        tops = [(float(left), float(top)) for left, top in PLACED.findall(text)]
        shown = [each for each in page.iter(SVG + "svg") if each.get("overflow")]
        assert len(tops) == len(shown) > 1
        bottoms: list[float] = []
        for (left, top), system in zip(tops, shown, strict=True):
            assert left == pytest.approx(10 * wide - left - float(system.attrib["width"]), abs=1)
            assert top >= max([0, *bottoms])
            bottoms.append(top + float(system.attrib["height"]))
        assert bottoms[-1] <= 10 * high - 120 - 90


def test_a_sheet_for_letter_paper_is_so_in_every_kind_of_file(tmp_path: Path) -> None:
    """Eight and a half by eleven inches: 612 by 792 points, 1700 pixels at 200 an inch."""
    for ending in ("pdf", "html", "png"):
        make_sheet(SheetWish(("off-beats",), paper="letter"), tmp_path / f"s.{ending}")
    box = PdfReader(tmp_path / "s.pdf").pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (612, 792)
    assert "@page { size: letter portrait" in (tmp_path / "s.html").read_text(encoding="utf-8")
    assert int.from_bytes((tmp_path / "s.png").read_bytes()[16:20], "big") == 1700


@pytest.mark.parametrize("counting", ["numbers", "takadimi"])
def test_a_bar_too_full_for_a_line_is_drawn_smaller(tmp_path: Path, counting: str) -> None:
    """Thirty-seconds all through a slow bar are squeezed on no line: their counts could not be read."""
    drill = tmp_path / "full.toml"
    beats = (f"{beat} {beat}+1/8 e {beat}+3/8 & {beat}+5/8 a {beat}+7/8" for beat in (1, 2, 3, 4))
    drill.write_text(
        f'title = "Weir"\nmetre = "4/4"\ntempo = 40\nrhythm = "{" ".join(beats)} | 1 2 3 4"\n'
    )
    make_sheet(SheetWish((str(drill),), counting=counting), tmp_path / "s.svg")
    page = fromstring((tmp_path / "s.svg").read_text(encoding="utf-8"))
    systems = [each for each in page.iter(SVG + "svg") if each.get("class") == "definition-scale"]
    found = boxes(systems[0])
    assert len(found) >= 32
    assert not [(a[0], b[0]) for a, b in combinations(found, 2) if overlap(a[1], b[1])]
    shown = next(each for each in page.iter(SVG + "svg") if each.get("overflow"))
    assert float(shown.attrib["width"]) == pytest.approx(1850)


def test_the_boxes_tell_when_texts_do_overlap() -> None:
    """The check above can fail."""
    text = '<text x="{}" y="90"><tspan font-size="40px">{}</tspan></text>'
    drawn = f'<svg xmlns="{SVG[1:-1]}">{text.format(0, "lean")}{text.format(30, "on")}</svg>'
    (_, first), (_, second) = boxes(fromstring(drawn))
    assert overlap(first, second)


MEASURE = re.compile(r'class="measure">')
HEAD = re.compile(r'class="notehead">\s*<use [^>]*translate\((-?[\d.]+)')
SYLLABLE = re.compile(r'class="syl">\s*<text x="(-?[\d.]+)"')
WIDTH_OF_A_HEAD = 220
PLAYED_THROUGHOUT = ("steady-quarters", "eighth-pairs", "sixteenth-figures", "fast-sixteenths")


def test_every_count_stands_under_its_note_also_before_a_long_rest(tmp_path: Path) -> None:
    """A count beside its note would be read a beat off."""
    drill = tmp_path / "rests.toml"
    drill.write_text(
        'title = "R"\nmetre = "4/4"\ntempo = 60\nrhythm = "1 2 3 4 | rest 3 | 1 & 2 3 4 & | rest 8"\n'
    )
    told = make_sheet(SheetWish((str(drill), *PLAYED_THROUGHOUT)), tmp_path / "all.svg")
    compared = 0
    for file in told.files:
        for bar in MEASURE.split(file.read_text(encoding="utf-8"))[1:]:
            heads = [float(x) for x in HEAD.findall(bar)]
            counts = [float(x) for x in SYLLABLE.findall(bar)]
            if len(heads) == len(counts):
                compared += len(heads)
                assert all(abs(a - b) < WIDTH_OF_A_HEAD for a, b in zip(heads, counts, strict=True))
    assert compared > 100


def test_a_long_title_goes_on_below_and_no_further_than_the_margin(tmp_path: Path) -> None:
    """No word is cut off by the edge of the paper."""
    drill = tmp_path / "long.toml"
    title = "A very long name " * 6
    drill.write_text(f'title = "{title}"\nmetre = "4/4"\ntempo = 60\nrhythm = "1 2 3 4"\n')
    make_sheet(SheetWish((str(drill),)), tmp_path / "s.svg")
    page = fromstring((tmp_path / "s.svg").read_text(encoding="utf-8"))
    lines = [text for text in page.iter(SVG + "text") if text.get("class") == "title"]
    assert len(lines) == 2
    for line in lines:
        assert float(line.attrib["x"]) + printed(str(line.text), 58).width < 2100 - 125


def test_several_passages_become_one_pdf_of_whole_pages(tmp_path: Path) -> None:
    """A teacher hands out one file."""
    told = make_sheet(SheetWish(NAMES[:6]), tmp_path / "week.pdf")
    pages = PdfReader(tmp_path / "week.pdf").pages
    assert len(pages) == told.document["pages"] > 1
    assert round(float(pages[0].mediabox.width)) == 595


def test_a_sheet_is_also_a_page_and_a_picture(tmp_path: Path) -> None:
    """Each kind of file opens by itself."""
    make_sheet(SheetWish(("towpath-entry",)), tmp_path / "s.html")
    page = (tmp_path / "s.html").read_text(encoding="utf-8")
    assert "<svg" in page
    assert "src=" not in page
    make_sheet(SheetWish(("towpath-entry",), british=True), tmp_path / "s.png")
    assert (tmp_path / "s.png").read_bytes().startswith(b"\x89PNG")


def test_pages_of_one_kind_are_numbered(tmp_path: Path) -> None:
    """An SVG holds one page."""
    told = make_sheet(SheetWish(NAMES[:6]), tmp_path / "week.svg")
    assert [file.name for file in told.files][:2] == ["week-1.svg", "week-2.svg"]


def test_what_cannot_be_written_is_said_in_one_line(tmp_path: Path) -> None:
    """Nothing is left behind."""
    with pytest.raises(RequestError, match="a sheet ends in"):
        make_sheet(SheetWish(("off-beats",)), tmp_path / "s.doc")
    with pytest.raises(FileError, match="does not exist"):
        make_sheet(SheetWish(("off-beats",)), tmp_path / "none" / "s.svg")
    with pytest.raises((RequestError, DrillError)):
        make_sheet(SheetWish(("off-beats",), bars="900-901"), tmp_path / "s.svg")
    assert not list(tmp_path.iterdir())


def test_without_what_draws_pdf_the_command_to_install_it_is_given(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The extra is said by name."""
    monkeypatch.setitem(sys.modules, "cairosvg", None)
    with pytest.raises(MissingPartError, match="pip install cairosvg"):
        make_sheet(SheetWish(("off-beats",)), tmp_path / "s.pdf")
