"""XML read safely into light nodes that hold only what a rhythm needs.

Over defusedxml's parser, which refuses entities and never fetches anything.  What only concerns
the look of a page is not kept; depth and number of elements are bounded, so that a hostile file costs
no more time or memory than a large score.  A declared encoding that the parser itself cannot read
(one with several bytes to a letter) is decoded first.
"""

import re
from xml.parsers.expat import ErrorString

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import DefusedXMLParser, ParseError

from rhythmtrain.errors import FileError

DEEPEST = 40  # MusicXML itself nests no deeper than 15
MOST_ELEMENTS = 2_000_000
LONGEST_TEXT = 2_000
CHUNK = 1 << 16
# Elements that say how a page looks, or belong to others than a rhythm's reader.
UNREAD = frozenset({
    "appearance", "clef", "credit", "defaults", "encoding", "figured-bass", "frame",
    "harmony", "identification", "key", "listening", "lyric", "midi-device", "miscellaneous",
    "notehead", "part-group", "play", "print", "staff-details", "stem",
})  # fmt: skip
# Encodings of several bytes to a letter, by the names Python knows them under.
DECODED_FIRST = frozenset({
    "big5", "big5hkscs", "cp932", "cp949", "cp950", "euc_jp", "euc_kr", "gb18030", "gb2312", "gbk",
    "iso2022_jp", "iso2022_kr", "johab", "shift_jis", "utf_32", "utf_32_be", "utf_32_le",
})  # fmt: skip
_DECLARED = re.compile(rb"""<\?xml[^>]{0,200}?encoding\s*=\s*["']([A-Za-z0-9._:-]{1,40})["']""")
_UTF_32 = {b"\xff\xfe\x00\x00": "utf_32", b"\x00\x00\xfe\xff": "utf_32"}


class Node:
    """One element: its tag without namespace, attributes, text, and the elements in it."""

    __slots__ = ("attributes", "children", "tag", "text")

    def __init__(self, tag: str, attributes: dict[str, str]) -> None:
        """Keep tag and attributes; text and children come as they are read."""
        self.tag = tag
        self.attributes = attributes
        self.text = ""
        self.children: list[Node] = []

    def get(self, name: str) -> str | None:
        """Return the attribute ``name``, or None."""
        return self.attributes.get(name)

    def child(self, tag: str) -> "Node | None":
        """Return the first element ``tag`` in this one, or None."""
        for child in self.children:
            if child.tag == tag:
                return child
        return None

    def all(self, tag: str) -> "list[Node]":
        """Return the elements ``tag`` in this one."""
        return [child for child in self.children if child.tag == tag]

    def has(self, tag: str) -> bool:
        """Return whether an element ``tag`` stands in this one."""
        return self.child(tag) is not None

    def text_of(self, tag: str) -> str:
        """Return the text of the first element ``tag`` in this one, "" where there is none."""
        child = self.child(tag)
        return "" if child is None else child.text.strip()


class _Tree:
    """What the parser tells its elements to; it gives the root back on close."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._root: Node | None = None
        self._open: list[Node] = []
        self._unread = 0
        self._count = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        if tag.startswith("{"):
            tag = tag.rpartition("}")[2]
        if len(self._open) + self._unread >= DEEPEST:
            raise FileError(f"{self._name} is nested deeper than any score: it is not read")
        self._count += 1
        if self._count > MOST_ELEMENTS:
            raise FileError(f"{self._name} has more than {MOST_ELEMENTS} elements: no score has")
        if self._unread or tag in UNREAD:
            self._unread += 1
            return
        node = Node(tag, attributes)
        if self._open:
            self._open[-1].children.append(node)
        else:
            self._root = node
        self._open.append(node)

    def end(self, _tag: str) -> None:
        if self._unread:
            self._unread -= 1
        else:
            self._open.pop()

    def data(self, text: str) -> None:
        if not self._unread and self._open and len(self._open[-1].text) < LONGEST_TEXT:
            self._open[-1].text += text[:LONGEST_TEXT]

    def close(self) -> Node | None:
        return self._root


def parse(data: bytes, *, name: str) -> Node:
    """Return the root of the XML in ``data``; ``name`` is the file's, for messages.

    Raises:
        FileError: not XML, cut off, an unknown encoding, entities, nested or large beyond reason.
    """
    data, encoding = _readable(data, name)
    parser = DefusedXMLParser(target=_Tree(name), encoding=encoding)
    try:
        for at in range(0, len(data), CHUNK):
            parser.feed(data[at : at + CHUNK])
        root = parser.close()
    except DefusedXmlException as error:
        raise FileError(
            f"{name} declares entities or reaches for other files, as no score does: it is not read"
        ) from error
    except ParseError as error:
        raise FileError(_broken(error, name)) from error
    except (LookupError, ValueError) as error:
        raise FileError(f"{name} says it is in an encoding that cannot be read") from error
    if not isinstance(root, Node):
        raise FileError(f"{name} holds no score")
    return root


def _readable(data: bytes, name: str) -> tuple[bytes, str | None]:
    """Return ``data`` in an encoding that the parser reads, and its name where it must be told."""
    declared = _DECLARED.match(data.removeprefix(b"\xef\xbb\xbf"))
    wanted = declared[1].decode("ascii") if declared else ""
    encoding = _UTF_32.get(data[:4]) or wanted.lower().replace("-", "_")
    if encoding not in DECODED_FIRST:
        return data, None
    try:
        return data.decode(encoding).encode("utf-8"), "utf-8"
    except UnicodeError as error:
        raise FileError(f"{name} says it is in {wanted or encoding}, but is not") from error


def _broken(error: ParseError, name: str) -> str:
    line, column = error.position
    reason = ErrorString(error.code) or "it breaks off"
    return f"{name}:{line}, column {column + 1}: not readable as XML ({reason}); is the file whole?"
