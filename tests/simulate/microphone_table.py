"""What is heard past a loudspeaker: ``python -m tests.simulate.microphone_table [TAKES] [SEED]``.

For every case and loudspeaker level: F50, false claps on clicks that had none, the claps on clicks
that were found, the 95th percentile of the errors, false claps a minute, what a silent player
gives, the worst error of an accepted delay, and how many were refused.  The takes are of the half
"held out"; SEED makes others of it, on which nothing was ever looked at.  A third argument keeps
the cases whose names hold it.
"""

import sys
from dataclasses import dataclass, field, replace

import mir_eval
import numpy as np

from rhythmtrain.rehearsal.beside import Ear, HeardBeside, heard_beside
from tests.simulate.rooms import CASES, Case, Recorded, mixed, scene_of

BLEEDS_DB = (0.0, 6.0, 12.0)
WINDOW_S, NEAR_S = 0.05, 0.06
APART = 1000
KINDS = {"clap": "claps", "tap": "claps", "syllable": "voice"}


@dataclass(slots=True)
class Told:
    """Counts over the takes of one row."""

    true: int = 0
    found: int = 0
    matched: int = 0
    bare: int = 0
    false_on_bare: int = 0
    on_click: int = 0
    found_on_click: int = 0
    silent: int = 0
    refused: int = 0
    seconds: float = 0.0
    worst_ms: float = 0.0
    errors_s: list[float] = field(default_factory=list)

    def add(self, take: Recorded, beside: HeardBeside) -> None:
        """Count one take."""
        truth, found = np.array(take.claps_s), np.array(beside.take.times_s)
        clicks = np.array(take.clicks_s)
        pairs = mir_eval.util.match_events(truth, found, WINDOW_S)
        right = {j for _, j in pairs}
        wrong = np.array([time for j, time in enumerate(found) if j not in right])
        bare = clicks[np.abs(clicks[:, None] - truth).min(axis=1) > NEAR_S]
        beat = np.abs(truth[:, None] - clicks).min(axis=1) <= WINDOW_S
        self.true, self.found = self.true + len(truth), self.found + len(found)
        self.matched, self.bare = self.matched + len(pairs), self.bare + len(bare)
        if wrong.size:
            self.false_on_bare += int((np.abs(bare[:, None] - wrong).min(axis=1) < NEAR_S).sum())
        self.on_click += int(beat.sum())
        self.found_on_click += sum(bool(beat[i]) for i, _ in pairs)
        self.errors_s += [abs(found[j] - truth[i]) for i, j in pairs]
        self.seconds += len(take.heard) / take.rate
        if beside.delay.known:
            self.worst_ms = max(self.worst_ms, 1e3 * abs(beside.delay.delay_s - take.delay_s))
        else:
            self.refused += 1

    @property
    def f(self) -> float:
        """Return the F-measure at 50 ms."""
        return 2 * self.matched / max(1, self.true + self.found)

    def line(self) -> str:
        """Return the counts as a row."""
        late_ms = 1e3 * float(np.percentile(self.errors_s or [np.nan], 95))
        minute = 60 * (self.found - self.matched) / self.seconds
        return (
            f"{self.f:.3f}  {self.false_on_bare:3d}/{self.bare:<3d} "
            f"{self.found_on_click:3d}/{self.on_click:<3d} {late_ms:5.1f} {minute:5.2f} "
            f"{self.silent:4d} {self.worst_ms:7.3f} {self.refused:3d}"
        )


def told(half: str, case: Case, count: int, *, bleed_db: float, first: int = 0) -> Told:
    """Return how ``count`` takes of a case were heard, each also with the player silent."""
    row = Told()
    ear = Ear(KINDS[case.maker])
    for number in range(first, first + count):
        scene = scene_of(half, case, number)
        take = mixed(scene, case, bleed_db=bleed_db)
        row.add(take, heard_beside(take.heard, take.track, take.rate, ear=ear))
        silent = mixed(scene, replace(case, claps=False), bleed_db=bleed_db)
        row.silent += len(heard_beside(silent.heard, silent.track, silent.rate, ear=ear).take.heard)
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
