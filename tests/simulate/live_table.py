"""What is shown beside a loudspeaker while it plays: ``python -m tests.simulate.live_table [TAKES] [SEED]``.

Each take is heard block by block; ``taught`` begins with what an earlier one, of another track in
the same room, taught of the way from loudspeaker to microphone, ``untaught`` knows nothing and
learns in the first seconds.  For each: F50, false marks on clicks that had no clap, claps on clicks
that were shown, the 95th percentile of the errors, false marks a minute; then how many marks a
silent player gives, and how long after a clap its mark comes at the latest.  Takes are of the half
"held out"; SEED makes others of it.  A third argument keeps the cases whose names hold it.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import mir_eval
import numpy as np

from rhythmtrain.hearing.bleed import cleared
from rhythmtrain.hearing.delay import measured_delay
from rhythmtrain.hearing.live_way import Way, way_of
from rhythmtrain.rehearsal.beside import Ear
from rhythmtrain.rehearsal.live_ear import LiveEar
from tests.simulate.rooms import CASES, Case, Recorded, mixed, scene_of

BLEEDS_DB = (0.0, 12.0)
BLOCK_S, WINDOW_S, NEAR_S = 0.02, 0.05, 0.06
APART = 1000
LENGTH_S = 20.0
WAYS = {"taught": True, "untaught": False}


def way_learned(half: str, case: Case, number: int, *, bleed_db: float) -> Way:
    """Return what take ``number`` teaches of the way from loudspeaker to microphone."""
    take = mixed(scene_of(half, case, number, LENGTH_S), case, bleed_db=bleed_db)
    delay = measured_delay(take.heard, take.track, take.rate)
    return way_of(list(cleared(take.heard, take.track, take.rate, delay))[-1], take.rate)


def marks(take: Recorded, way: Way | None) -> Iterator[tuple[float, float]]:
    """Yield (track time, seconds after it was heard) of each mark that is shown."""
    pages: list[np.ndarray] = []
    ear = LiveEar(take.rate, Ear(aloud=False), pages, delay_s=take.delay_s, way=way)
    block = round(BLOCK_S * take.rate)
    for first in range(0, min(len(take.heard), len(take.track)), block):
        pages.append(take.track[first : first + block])
        now_s = (first + block) / take.rate
        for time_s in ear(take.heard[first : first + block]):
            heard_s = time_s * (1 + take.skew_ppm * 1e-6) + take.delay_s
            yield time_s, now_s - heard_s


@dataclass(slots=True)
class Shown:
    """Counts over the takes of one row."""

    true: int = 0
    found: int = 0
    matched: int = 0
    bare: int = 0
    false_on_bare: int = 0
    on_click: int = 0
    found_on_click: int = 0
    silent: int = 0
    seconds: float = 0.0
    latest_s: float = 0.0
    errors_s: list[float] = field(default_factory=list)

    def add(self, take: Recorded, shown: list[tuple[float, float]]) -> None:
        """Count one take."""
        truth, found = np.array(take.claps_s), np.array([time_s for time_s, _ in shown])
        clicks = np.array(take.clicks_s)
        pairs = mir_eval.util.match_events(truth, np.sort(found), WINDOW_S)
        found = np.sort(found)
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
        self.latest_s = max([self.latest_s, *(late_s for _, late_s in shown)])

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
            f"{self.silent:4d} {1e3 * self.latest_s:6.0f}"
        )


def shown(half: str, case: Case, numbers: range, *, bleed_db: float, how: str) -> Shown:
    """Return how takes of a case were shown, each also with the player silent."""
    row = Shown()
    for number in numbers:
        way = way_learned(half, case, number, bleed_db=bleed_db) if WAYS[how] else None
        scene = scene_of(half, case, number, LENGTH_S, again=1)
        take = mixed(scene, case, bleed_db=bleed_db)
        row.add(take, list(marks(take, way)))
        silent = mixed(scene, replace(case, claps=False), bleed_db=bleed_db)
        row.silent += len(list(marks(silent, way)))
    return row


def main(count: int, seed: int, only: str) -> None:
    """Print the table, ``count`` takes a row."""
    print("case                  bleed way       F50   bare   on click p95 a min silent latest")  # noqa: T201
    numbers = range(seed * APART, seed * APART + count)
    for name, case in CASES.items():
        if only in name and case.maker != "syllable":
            for bleed_db in BLEEDS_DB:
                for how in WAYS:
                    row = shown("held out", case, numbers, bleed_db=bleed_db, how=how)
                    print(f"{name:24s} {bleed_db:3.0f} {how:8s} {row.line()}", flush=True)  # noqa: T201


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        int(words[0]) if words else 4,
        int(words[1]) if len(words) > 1 else 0,
        words[2] if len(words) > 2 else "",
    )
