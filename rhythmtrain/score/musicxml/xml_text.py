"""XML as text: elements with their attributes and content, escaped, one line each or nested.

What stands in a title may be anything; letters that XML 1.0 cannot hold are left out.
"""

from html import escape


def element(tag: str, *inside: str | int, **attributes: str | int) -> str:
    """Return one element; ``inside`` are elements already written, or a text from ``words``.

    Names of attributes have ``_`` where XML has ``-``.
    """
    said = "".join(
        f' {name.replace("_", "-")}="{words(str(value))}"' for name, value in attributes.items()
    )
    content = "".join(map(str, inside))
    return f"<{tag}{said}>{content}</{tag}>" if content else f"<{tag}{said}/>"


def words(text: str) -> str:
    """Return ``text`` as it stands in XML: on one line, escaped, without letters XML cannot hold."""
    line = " ".join(text.split())
    return escape("".join(letter for letter in line if letter.isprintable()))
