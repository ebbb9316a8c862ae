"""What can be used on this machine, as a list with the reason for what cannot."""

from collections.abc import Sequence
from dataclasses import dataclass

from rhythmtrain.report.lines import hanging, table

HEADS = {
    "loudspeakers": "Loudspeakers (--loudspeaker)",
    "microphones": "Microphones (--from mic:NAME)",
    "midi": "Pads and keyboards (--from midi:NAME)",
    "keys": "Keys of this terminal (--from keys)",
}
USUAL = "usual"


@dataclass(frozen=True, slots=True)
class Usable:
    """One device that can be used; ``usual`` is the one taken when none is named."""

    name: str
    about: str = ""
    usual: bool = False


@dataclass(frozen=True, slots=True)
class Listing:
    """All of one kind, a key of ``HEADS``, or the reason why there are none."""

    what: str
    usable: tuple[Usable, ...]
    reason: str = ""


def devices_text(listings: Sequence[Listing]) -> str:
    """Return the list, one block a kind."""
    return "\n\n".join(_block(each) for each in listings)


def _block(listing: Listing) -> str:
    if not listing.usable:
        return f"{HEADS[listing.what]}\n{hanging('  none:', listing.reason, indent=9)}"
    rows = [(each.name, _about(each)) for each in listing.usable]
    return f"{HEADS[listing.what]}\n{table(rows)}"


def _about(each: Usable) -> str:
    return ", ".join(part for part in (each.about, USUAL if each.usual else "") if part)
