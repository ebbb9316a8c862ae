"""What can be done, as one types it: the command line's words for it.

Also what is written from the command line says it so: a page kept in a file is read by the same person.
"""

from collections.abc import Mapping

from rhythmtrain.remedies import Wording, worded

# By the name that a sentence gives it; {0}, {1} is what it is done with.
REMEDIES: Mapping[str, str] = {
    "next": "To type next:\n  {0}",
    "type": "{0}",
}  # fmt: skip


def as_typed(sentence: str) -> str:
    """Return ``sentence`` with options and commands in it as one types them."""
    return worded(sentence, TYPED)


def _option(name: str) -> str:
    return f"--{name}"


TYPED = Wording(REMEDIES, _option)
