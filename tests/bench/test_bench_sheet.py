"""How soon a practice sheet of one page is there, once the engraver's library is loaded.

A page of three drills is to be drawn in 0.2 s, and made a PDF in 1.2 s.
"""

from typing import Any

import pytest
import verovio
from pytest_benchmark.fixture import BenchmarkFixture

from rhythmtrain.devices.engraver_child import OPTIONS
from rhythmtrain.devices.paper import pdf_of
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.report.sheets.mei import mei_of
from rhythmtrain.report.sheets.page import Engraved, sheet_pages
from rhythmtrain.report.sheets.svg import drawing_of

pytestmark = pytest.mark.bench
ONE_PAGE = ("lock-keepers-rag", "towpath-rag", "towpath-entry")
MOST_SVG_S, MOST_PDF_S = 0.2, 1.2


def page(toolkit: Any) -> str:
    """Return one page of three drills as SVG."""
    engraved = []
    for name in ONE_PAGE:
        passage = find_passage(name)
        toolkit.loadData(mei_of(passage))
        count = toolkit.getPageCount()
        systems = [toolkit.renderToSVG(number) for number in range(1, count + 1)]
        engraved.append(Engraved(passage.title, tuple(map(drawing_of, systems))))
    (drawn,) = sheet_pages(engraved)
    return drawn


def least_s(benchmark: BenchmarkFixture) -> float:
    """Return the seconds of the quickest run."""
    assert benchmark.stats is not None
    return float(benchmark.stats.stats.min)


def test_a_page_is_drawn_soon(benchmark: BenchmarkFixture) -> None:
    """Passages read, notated, engraved and laid on a page."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(OPTIONS | {"pageWidth": 1850})
    benchmark(page, toolkit)
    assert least_s(benchmark) < MOST_SVG_S


def test_a_page_becomes_a_pdf_soon(benchmark: BenchmarkFixture) -> None:
    """CairoSVG and pypdf, with the page already drawn."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(OPTIONS | {"pageWidth": 1850})
    drawn = page(toolkit)
    benchmark(pdf_of, [drawn], "Week 12")
    assert least_s(benchmark) < MOST_PDF_S
