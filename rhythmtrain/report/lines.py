"""Lines for a terminal, never wider than 78 columns."""

from collections.abc import Sequence

WIDTH = 78
INDENT = 7


def hanging(label: str, words: str, *, indent: int = INDENT) -> str:
    """Return ``words`` in lines of at most ``WIDTH``, all ``indent`` in, with ``label`` before.

    A label that fills its column stands alone on a line of its own; a single word that is too
    long is not broken, so that it can be copied.
    """
    lines, line = [], ""
    for word in words.split():
        if line and len(line) + 1 + len(word) > WIDTH - indent:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    lines.append(line)
    return "\n".join(f"{label if not n else '':<{indent}}{each}" for n, each in enumerate(lines))


def table(rows: Sequence[tuple[str, str]]) -> str:
    """Return two columns, two in from the edge; the second hangs where it is long."""
    wide = max((len(first) for first, _ in rows), default=0)
    return "\n".join(hanging(f"  {first}", second, indent=wide + 4) for first, second in rows)
