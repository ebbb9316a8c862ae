"""Pages drawn as SVG made into a PDF or a picture, by CairoSVG and pypdf.

Both come with ``pip install 'rhythmtrain[pdf]'``; CairoSVG needs the system's cairo library.
"""

from collections.abc import Sequence
from io import BytesIO
from types import ModuleType

from rhythmtrain.errors import MissingPartError

DOTS_AN_INCH = 200


def pdf_of(pages: Sequence[str], title: str) -> bytes:
    """Return the SVG ``pages`` as one PDF file.

    Raises:
        MissingPartError: CairoSVG, pypdf or the cairo library is not installed.
    """
    drawn = [BytesIO(_cairo().svg2pdf(bytestring=page.encode("utf-8"))) for page in pages]
    try:
        from pypdf import PdfWriter  # noqa: PLC0415  (an extra, loaded when a PDF is wanted)
    except ImportError as error:
        raise _missing() from error
    writer = PdfWriter()
    for page in drawn:
        writer.append(page)
    writer.add_metadata({"/Title": title, "/Producer": "rhythmtrain"})
    whole = BytesIO()
    writer.write(whole)
    return whole.getvalue()


def png_of(page: str, width: int) -> bytes:
    """Return one SVG page as a PNG picture, ``width`` pixels wide.

    Raises:
        MissingPartError: CairoSVG or the cairo library is not installed.
    """
    drawn: bytes = _cairo().svg2png(bytestring=page.encode("utf-8"), output_width=width)
    return drawn


def _cairo() -> ModuleType:
    try:
        import cairosvg  # noqa: PLC0415  (an extra, loaded when a PDF or picture is wanted)
    except (ImportError, OSError) as error:  # OSError: the system has no cairo library
        raise _missing() from error
    module: ModuleType = cairosvg
    return module


def _missing() -> MissingPartError:
    return MissingPartError(
        "sheets as .pdf or .png need CairoSVG, pypdf and the cairo library: pip install cairosvg "
        "pypdf (and on Debian or Ubuntu: apt install libcairo2); .svg and .html need nothing more"
    )
