"""Files that are broken, or want to do harm: one line, soon, and little memory."""

import io
import time
import tracemalloc
import zipfile

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.score.musicxml.document import read_score
from tests.simulate.musicxml_text import attributes, note, part_of, score
from tests.simulate.pace import stretched

GOOD = score(part_of(attributes() + note("C5", 4)))
BOMB = (
    b'<?xml version="1.0"?><!DOCTYPE s [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(b'<!ENTITY %c "%b">' % (98 + at, b"&%c;" % (97 + at) * 10) for at in range(9))
    + b"]><score-partwise>&j;</score-partwise>"
)
OUTSIDE = (
    b'<?xml version="1.0"?><!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    b"<score-partwise>&x;</score-partwise>"
)
MOST_SECONDS = 20.0
MOST_BYTES = 400 << 20


def zipped(entries: dict[str, bytes]) -> bytes:
    """Return a zip of ``entries``."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in entries.items():
            file.writestr(name, data)
    return buffer.getvalue()


def container(path: str) -> bytes:
    """Return the list of a zipped score."""
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'.encode()


HOSTILE = {
    "nothing": (b"", "is empty"),
    "no XML": (b"hello", "not readable as XML"),
    "other XML": (b"<html/>", "no MusicXML score: it begins with 'html'"),
    "no music": (b"<score-partwise/>", "holds no bars"),
    "cut off": (GOOD[: len(GOOD) // 2], "is the file whole"),
    "an entity bomb": (BOMB, "declares entities"),
    "an outside file": (OUTSIDE, "declares entities or reaches for other files"),
    "an unknown encoding": (GOOD.replace(b"UTF-8", b"KLINGON"), "encoding|not readable"),
    "a false encoding": (
        GOOD.replace(b"UTF-8", b"Shift_JIS").replace(b"Player", b"Pl\xfd\xfeyer"),
        "Shift_JIS, but is not",
    ),
    "a damaged zip": (zipped({"a.xml": GOOD})[:60], "damaged zip"),
    "a zip without a score": (zipped({"readme.txt": b"hello"}), "without a MusicXML score"),
    "a climbing entry": (zipped({"../../a.xml": GOOD}), "climbs out"),
    "an absolute entry": (zipped({"C:/a.xml": GOOD}), "climbs out"),
    "a zip bomb": (zipped({"a.xml": bytes(65 << 20)}), "unzips to more than 64 MB"),
    "100 MB of nesting": (b"<score-partwise>" + b"<a>" * (33 << 20), "larger than 64 MB"),
    "60 MB of nesting": (b"<score-partwise>" + b"<a>" * (20 << 20), "nested deeper"),
    "millions of notes": (
        b"<score-partwise><part><measure>" + b"<a/>" * (2_000_001),
        "more than 2000000 elements",
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_one_line(name: str) -> None:
    """No traceback, no hang, no swapping: a sentence that names the file."""
    data, words = HOSTILE[name]
    begun = time.process_time()
    with pytest.raises(FileError, match=words) as caught:
        read_score(data, name="sent.mxl")
    assert str(caught.value).startswith("sent.mxl")
    assert "\n" not in str(caught.value)
    assert time.process_time() - begun < stretched(MOST_SECONDS)


def test_the_memory_that_a_hostile_file_can_take_is_bounded() -> None:
    """A zip of a few kilobytes that says it holds little, and holds much."""
    data = zipped({"a.xml": bytes(200 << 20)})
    tracemalloc.start()
    with pytest.raises(FileError):
        read_score(data, name="x.mxl")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < MOST_BYTES


@pytest.mark.parametrize(
    "entries",
    [
        {"META-INF/container.xml": container("a.xml"), "a.xml": GOOD},
        {"META-INF/container.xml": container("missing.xml"), "a.musicxml": GOOD},
        {"META-INF/container.xml": b"<broken", "dir/a.xml": GOOD},
        {"a.xml": GOOD},
    ],
)
def test_a_zipped_score_is_found_whatever_its_list_says(entries: dict[str, bytes]) -> None:
    """Programs misname the root file, or leave the list out."""
    assert len(read_score(zipped(entries), name="x.mxl").parts) == 1


@pytest.mark.parametrize(
    "encoding",
    ["utf-8", "utf-8-sig", "utf-16", "iso-8859-1", "windows-1252", "shift_jis", "gb18030"],
)
def test_every_encoding_reads(encoding: str) -> None:
    """Scores come from every country."""
    declared = encoding.removesuffix("-sig")
    text = GOOD.decode().replace("UTF-8", declared)
    read = read_score(text.encode(encoding), name="x.xml")
    assert read.parts[0].name == "Player 1"


def test_the_usual_document_type_is_no_reason_to_refuse() -> None:
    """Every notation program writes it; nothing is fetched."""
    doctype = (
        b'?><!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        b'"http://www.musicxml.org/dtds/partwise.dtd">'
    )
    assert read_score(GOOD.replace(b"?>", doctype, 1), name="x.xml").parts
