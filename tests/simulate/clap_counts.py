"""Counts of what was found of a player's claps beside the clicks of a track, over several takes."""

from dataclasses import dataclass, field

import mir_eval
import numpy as np

from tests.simulate.rooms import Recorded

WINDOW_S, NEAR_S = 0.05, 0.06


@dataclass(slots=True)
class ClapCounts:
    """Claps that were made and found; clicks that had no clap, and what was found on them.

    ``silent`` counts what was found of a player who did nothing.
    """

    true: int = 0
    found: int = 0
    matched: int = 0
    bare: int = 0
    false_on_bare: int = 0
    on_click: int = 0
    found_on_click: int = 0
    silent: int = 0
    seconds: float = 0.0
    errors_s: list[float] = field(default_factory=list)

    def count(self, take: Recorded, found_s: list[float]) -> None:
        """Count one take, of which ``found_s`` were found, in seconds of the track."""
        truth, found = np.array(take.claps_s), np.sort(np.array(found_s))
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

    @property
    def f(self) -> float:
        """Return the F-measure at 50 ms."""
        return 2 * self.matched / max(1, self.true + self.found)

    @property
    def p95_ms(self) -> float:
        """Return what 95 of 100 errors lie within."""
        return 1e3 * float(np.percentile(self.errors_s or [np.nan], 95))

    def line(self) -> str:
        """Return the counts as a row."""
        minute = 60 * (self.found - self.matched) / self.seconds
        return (
            f"{self.f:.3f}  {self.false_on_bare:3d}/{self.bare:<3d} "
            f"{self.found_on_click:3d}/{self.on_click:<3d} {self.p95_ms:5.1f} {minute:5.2f} "
            f"{self.silent:4d}"
        )
