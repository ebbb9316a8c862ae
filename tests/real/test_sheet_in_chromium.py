"""Practice sheets as a browser lays them out: no text on another, and none on a note.

Boxes are those of the ink: for words from their font's own measures, for signs from their outlines.
What is meant to touch is not compared: ties with the notes they join, the time signature's two numbers.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from rhythmtrain.rehearsal.passages.sheet import SheetWish, make_sheet
from rhythmtrain.storage.drills import shipped_drills
from tests.real.pages import chromium

DRILLS = tuple(drill.name for drill in shipped_drills())
# Every text and every sign of a page as [what, left, top, right, bottom] in CSS pixels.
BOXES = """
() => {
  const pen = document.createElement("canvas").getContext("2d");
  const found = [];
  const ink = (node) => {
    const words = node.textContent;
    const box = node.getBoundingClientRect();
    const style = getComputedStyle(node);
    pen.font = `${style.fontStyle} ${style.fontWeight} 100px ${style.fontFamily}`;
    const m = pen.measureText(words);
    const scale = box.height / (m.fontBoundingBoxAscent + m.fontBoundingBoxDescent);
    const line = box.top + m.fontBoundingBoxAscent * scale;
    return [words.trim(), box.left, line - m.actualBoundingBoxAscent * scale,
            box.right, line + m.actualBoundingBoxDescent * scale];
  };
  for (const text of document.querySelectorAll("svg text")) {
    const leaves = [...text.querySelectorAll("tspan")].filter(
      (span) => !span.querySelector("tspan") && span.textContent.trim());
    if (text.textContent.trim()) for (const leaf of leaves.length ? leaves : [text])
      found.push({kind: "text", of: text.closest("g.tuplet") ? "number" : "words", box: ink(leaf)});
  }
  for (const sign of document.querySelectorAll(
      "g.notehead, g.stem, g.beam > polygon, g.rest, g.mRest, g.flag, g.accid, g.dots, g.artic, " +
      "g.fermata, g.breath, g.clef, g.meterSig, g.multiRest, g.barLine")) {
    const box = sign.getBoundingClientRect();
    const name = sign.getAttribute("class") || "beam";
    if (box.width && box.height && !sign.closest("[visibility=hidden]"))
      found.push({kind: "sign", of: name, box: [name, box.left, box.top, box.right, box.bottom]});
  }
  return found;
}
"""
TOUCH = 0.3  # CSS pixels: a hair's breadth on paper
Boxes = list[dict[str, Any]]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Yield one browser for all pages."""
    with chromium() as started:
        yield started


def laid_out(browser: Browser, page: Path) -> Boxes:
    """Return the boxes of a page."""
    tab = browser.new_page(viewport={"width": 1200, "height": 1600})
    tab.goto(page.as_uri())
    found: Boxes = tab.evaluate(BOXES)
    tab.close()
    return found


def overlaps(boxes: Boxes) -> list[tuple[str, str]]:
    """Return the pairs of a text with a text or sign that share paper."""
    texts = [each for each in boxes if each["kind"] == "text"]
    found = []
    for place, text in enumerate(texts):
        others = [*texts[place + 1 :], *(each for each in boxes if each["kind"] == "sign")]
        found += [
            (text["box"][0], each["box"][0]) for each in others if _meet(text["box"], each["box"])
        ]
    return found


def _meet(one: list[Any], other: list[Any]) -> bool:
    return bool(
        one[1] + TOUCH < other[3]
        and other[1] + TOUCH < one[3]
        and one[2] + TOUCH < other[4]
        and other[2] + TOUCH < one[4]
    )


@pytest.mark.parametrize(
    ("staff", "counting", "rests"),
    [("one", "numbers", True), ("five", "numbers", False), ("one", "takadimi", False)],
)
def test_no_text_stands_on_a_text_or_a_note(
    browser: Browser, tmp_path: Path, staff: str, counting: str, *, rests: bool
) -> None:
    """On every supplied drill, as a phone shows it."""
    page = tmp_path / "all.html"
    make_sheet(SheetWish(DRILLS, staff=staff, counting=counting, count_rests=rests), page)
    boxes = laid_out(browser, page)
    assert sum(each["kind"] == "text" for each in boxes) > 900
    assert sum(each["of"].startswith("notehead") for each in boxes) > 700
    assert overlaps(boxes) == []


def test_the_check_tells_texts_on_notes(browser: Browser, tmp_path: Path) -> None:
    """It can fail."""
    page = tmp_path / "bad.html"
    page.write_text(
        '<svg width="400" height="100"><g class="notehead"><rect x="20" y="20" width="20" '
        'height="20"/></g><text x="22" y="38" font-size="20">2</text>'
        '<text x="200" y="38" font-size="20">one</text><text x="215" y="40" font-size="20">two</text>'
        '<text x="300" y="38" font-size="20">far</text></svg>'
    )
    assert overlaps(laid_out(browser, page)) == [("2", "notehead"), ("one", "two")]
