"""What is heard past a loudspeaker: ``python -m tests.simulate.microphone_table [TAKES] [SEED]``.

For every case and loudspeaker level: F50, false claps on clicks that had none, the claps on clicks
that were found, the 95th percentile of the errors, false claps a minute, what a silent player
gives, the worst error of an accepted delay, and how many were refused.  The takes are of the half
"held out"; SEED makes others of it, on which nothing was ever looked at.  A third argument keeps
the cases whose names hold it.
"""

import sys
from dataclasses import dataclass, field, replace

from rhythmtrain.rehearsal.live.beside import Ear, HeardBeside, heard_beside
from tests.simulate.clap_counts import ClapCounts
from tests.simulate.rooms import CASES, Case, Recorded, mixed, scene_of

BLEEDS_DB = (0.0, 6.0, 12.0)
APART = 1000
KINDS = {"clap": "claps", "tap": "claps", "syllable": "voice"}


@dataclass(slots=True)
class Told:
    """Counts over the takes of one row, and how far the delay was off where it was told."""

    claps: ClapCounts = field(default_factory=ClapCounts)
    refused: int = 0
    worst_ms: float = 0.0

    def add(self, take: Recorded, beside: HeardBeside) -> None:
        """Count one take."""
        self.claps.count(take, list(beside.take.times_s))
        if beside.delay.known:
            self.worst_ms = max(self.worst_ms, 1e3 * abs(beside.delay.delay_s - take.delay_s))
        else:
            self.refused += 1

    def line(self) -> str:
        """Return the counts as a row."""
        return f"{self.claps.line()} {self.worst_ms:7.3f} {self.refused:3d}"


def told(half: str, case: Case, count: int, *, bleed_db: float, first: int = 0) -> Told:
    """Return how ``count`` takes of a case were heard, each also with the player silent."""
    row = Told()
    ear = Ear(KINDS[case.maker])
    for number in range(first, first + count):
        scene = scene_of(half, case, number)
        take = mixed(scene, case, bleed_db=bleed_db)
        row.add(take, heard_beside(take.heard, take.track, take.rate, ear=ear))
        silent = mixed(scene, replace(case, claps=False), bleed_db=bleed_db)
        row.claps.silent += len(
            heard_beside(silent.heard, silent.track, silent.rate, ear=ear).take.heard
        )
    return row


def main(count: int, seed: int, only: str) -> None:
    """Print the table, ``count`` takes a row."""
    print("case                  bleed  F50   on bare on click  p95 a min silent delay ms refused")  # noqa: T201
    for name, case in CASES.items():
        if only in name:
            for bleed_db in BLEEDS_DB:
                row = told("held out", case, count, bleed_db=bleed_db, first=seed * APART)
                print(f"{name:24s} {bleed_db:3.0f} {row.line()}", flush=True)  # noqa: T201


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        int(words[0]) if words else 4,
        int(words[1]) if len(words) > 1 else 0,
        words[2] if len(words) > 2 else "",
    )
