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
from typing import TYPE_CHECKING

from rhythmtrain.hearing.bleed.bleed import cleared
from rhythmtrain.hearing.bleed.delay import measured_delay
from rhythmtrain.hearing.live.way import Way, way_of
from rhythmtrain.rehearsal.live.beside import Ear
from rhythmtrain.rehearsal.live.ear import LiveEar
from tests.simulate.clap_counts import ClapCounts
from tests.simulate.rooms import CASES, Case, Recorded, mixed, scene_of

if TYPE_CHECKING:
    from rhythmtrain.hearing.bleed.correlation import Sound

BLEEDS_DB = (0.0, 12.0)
BLOCK_S = 0.02
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
    pages: list[Sound] = []
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
    """Counts over the takes of one row, and how long after its clap a mark came at the latest."""

    claps: ClapCounts = field(default_factory=ClapCounts)
    latest_s: float = 0.0

    def add(self, take: Recorded, shown: list[tuple[float, float]]) -> None:
        """Count one take."""
        self.claps.count(take, [time_s for time_s, _ in shown])
        self.latest_s = max([self.latest_s, *(late_s for _, late_s in shown)])

    def line(self) -> str:
        """Return the counts as a row."""
        return f"{self.claps.line()} {1e3 * self.latest_s:6.0f}"


def shown(half: str, case: Case, numbers: range, *, bleed_db: float, how: str) -> Shown:
    """Return how takes of a case were shown, each also with the player silent."""
    row = Shown()
    for number in numbers:
        way = way_learned(half, case, number, bleed_db=bleed_db) if WAYS[how] else None
        scene = scene_of(half, case, number, LENGTH_S, again=1)
        take = mixed(scene, case, bleed_db=bleed_db)
        row.add(take, list(marks(take, way)))
        silent = mixed(scene, replace(case, claps=False), bleed_db=bleed_db)
        row.claps.silent += len(list(marks(silent, way)))
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
