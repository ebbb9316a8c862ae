"""The page in a real browser: a student is called by another name, and keeps what is theirs."""

import json
from pathlib import Path

from playwright.sync_api import Browser, ViewportSize

from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.report.classes.text import class_json
from rhythmtrain.report.classes.view import Cell, ClassHeard, StudentRow
from tests.real.pages import Served, fits_its_width, opened

PHONE: ViewportSize = {"width": 390, "height": 844}


def class_of_two(home: Path) -> str:
    """Keep a class of two in which everybody was heard; return its name."""
    with Desk(home) as desk:
        name = str(desk.classroom.made(Asked({"title": "Tuesday"}))["class"])
        for called in ("Anna/one.wav", "Bela.wav"):
            with desk.classroom.arriving(Asked({"class": name, "called": called})) as coming:
                coming.write(b"x")
                coming.whole()
        folder = desk.sitting.folders.passages.parent / "classes" / name
    pages = folder / "pages-1"
    pages.mkdir()
    rows = []
    for student in ("Anna", "Bela"):
        page = f"<!doctype html><html lang='en'><title>{student}</title><h1>{student}</h1></html>"
        (pages / f"{student}.html").write_text(page, encoding="utf-8")
        cells = (Cell(1, "\N{MIDDLE DOT}", "right"),)
        took = (f"{student}.wav", "at 72", True, True, cells, "Good.", "Onward.")
        rows.append(StudentRow(student, *took, page=f"{student}.html"))
    told = class_json(ClassHeard("Rag", tuple(rows), (), 2)) | {"pages": "pages-1", "files": []}
    (folder / "heard.json").write_text(json.dumps(told), encoding="utf-8")
    return name


def test_a_student_is_renamed_on_the_class_and_on_their_own_page(
    browser: Browser, here: Served
) -> None:
    """With the keyboard: the list, the row, the page and its address have the new name."""
    name = class_of_two(here.home)
    with opened(browser, here) as page:
        page.goto(f"{page.url.split('#')[0]}#class//class={name}")
        page.get_by_text("Another name for a student").click()
        page.get_by_label("Student", exact=True).select_option("Bela")
        field = page.get_by_label("Is called")
        assert field.input_value() == "Bela"
        field.fill("Béla Kis")
        field.press("Enter")
        page.get_by_role("status").get_by_text("Béla Kis it is.").wait_for()
        link = page.get_by_role("link", name="Béla Kis").first
        page.set_viewport_size(PHONE)
        fits_its_width(page)
        link.click()
        page.frame_locator("iframe").get_by_role("heading", name="Béla Kis").wait_for()
        page.get_by_text("Another name for a student").click()
        page.get_by_label("Is called").fill("Béla")
        page.get_by_role("button", name="Rename").click()
        page.get_by_role("heading", name="Béla", exact=True).first.wait_for()
        page.frame_locator("iframe").get_by_role("heading", name="Béla", exact=True).wait_for()
        assert "B%C3%A9la.html" in page.url
