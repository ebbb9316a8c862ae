"""What is said at the end of a session: each step in a line, where it stands, where to go on."""

from collections.abc import Sequence
from dataclasses import dataclass

from rhythmtrain.remedies import remedy
from rhythmtrain.report.lines import hanging, table

CARE = (
    "Rest now, and keep it quiet: start low with headphones, stop when something hurts. Short "
    "practice on many days does more than long practice on one."
)


@dataclass(frozen=True, slots=True)
class StepTold:
    """One step that was done: what it was, and how it went."""

    what: str
    went: str


def session_text(
    head: Sequence[str], steps: Sequence[StepTold], ended: Sequence[str], command: str
) -> str:
    """Return the whole text, at most 78 columns wide."""
    rows = [(each.what, each.went) for each in steps]
    blocks = [
        "\n".join(hanging("", line, indent=0) for line in head),
        "\n".join(["What you did", table(rows)]) if rows else "",
        "\n".join(hanging("", line, indent=0) for line in ended),
        hanging("", CARE, indent=0),
        remedy("next", command),
    ]
    return "\n\n".join(block for block in blocks if block)
