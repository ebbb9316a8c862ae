"""How often the beat clapped in place of the rhythm is told, and an attempt is not taken for it.

``python -m tests.simulate.instead_table TAKES HALF FIRST``: takes a row, of passages drawn from
FIRST on, of the half called HALF (see ``rhythms``).
"""

import sys
from collections.abc import Iterator

from rhythmtrain.assess.clapped_rows import Row
from rhythmtrain.assess.findings import Findings
from tests.simulate.instead_trials import (
    ATTEMPTS,
    KNOWN,
    Player,
    beat_clapped,
    drawn,
    drifting_beat,
    heard,
)


def told(player: Player, known: str, takes: int, *, half: str, first: int) -> Iterator[Findings]:
    """Yield what is found in each take of one row of the table."""
    for number in range(first, first + takes):
        yield heard(drawn(half, number), player, known, number)


def _row(name: str, player: Player, known: str, takes: int, half: str, first: int) -> str:
    found = list(told(player, known, takes, half=half, first=first))
    sure = sum(each.instead is not None and each.instead.sure for each in found)
    likely = sum(each.instead is not None and not each.instead.sure for each in found)
    beat = sum(each.instead is not None and each.instead.row is Row.BEAT for each in found)
    refused = sum(each.looks_like is False and each.instead is None for each in found)
    return f"{name:16} {known:14} {sure:4} {likely:4} {beat:4} {refused:4} of {takes}"


def main() -> None:
    """Print the table: the beat first, then attempts at the rhythm."""
    takes = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    half = sys.argv[2] if len(sys.argv) > 2 else "unseen"
    first = int(sys.argv[3]) if len(sys.argv) > 3 else 40_000
    sys.stdout.write(f"{'clapped':16} {'':14} sure like beat none\n")
    for name, known, player in _rows():
        sys.stdout.write(_row(name, player, known, takes, half, first) + "\n")
        sys.stdout.flush()


def _rows() -> Iterator[tuple[str, str, Player]]:
    for known in KNOWN:
        yield "the beat", known, drifting_beat if known == "tempo unknown" else beat_clapped
    for name, player in ATTEMPTS.items():
        for known in KNOWN:
            yield name, known, player


if __name__ == "__main__":
    main()
