"""Print how well free playing is judged: ``python -m tests.simulate.free_table [passages] [seed]``.

Every passage is played in each of the three models of rubato: once honestly, once with each kind
of mistake it has room for (one figure displaced, not in the last two bars, where anybody may slow
down), and with missing and extra notes, at up to twice or half the written tempo.  The seeds used
here were never used to choose a threshold.
"""

import sys
from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.free.pieces import fullest, goes
from rhythmtrain.assess.free.reading import Judged, asked_of, judged_of, read_of
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.rubato import MODELS, Random, make_passage, played

Floats = NDArray[np.float64]

HELD_OUT = 50_000
SLIPS = (0.0, 0.05, 0.10)
END_BARS = 2
SMALL = Fraction(1, 2)


@dataclass
class Table:
    """Counts: (found, asked) for each kind and model, flags and notes, pairs by share of slips."""

    found: dict[tuple[str, str], list[int]] = field(default_factory=lambda: defaultdict(list))
    flags: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    off: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    notes: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    pairs: dict[float, Floats] = field(default_factory=lambda: defaultdict(lambda: np.zeros(3)))

    def rate(self, kind: str, models: tuple[str, ...] = tuple(MODELS)) -> tuple[float, int]:
        """Return (share found, how many) of a kind under the models."""
        hits = [hit for model in models for hit in self.found[kind, model]]
        return (sum(hits) / len(hits) if hits else 0.0), len(hits)

    def matching(self, slips: float) -> tuple[float, float]:
        """Return (precision, recall) at a share of missing and of extra notes."""
        right, paired, expected = self.pairs[slips]
        return right / paired, right / expected


def as_take(times: Floats) -> Take:
    """Return the times as a take."""
    return Take("text", "made", tuple(Heard(float(time)) for time in times), float(times[-1]) + 1)


def slipped(times: Floats, share: float, rng: Random) -> tuple[Floats, NDArray[np.int64]]:
    """Return (claps, which note each is, -1 for none) with notes left out and others put in."""
    kept = np.flatnonzero(rng.random(len(times)) >= share)
    more = rng.uniform(times[0], times[-1], rng.binomial(len(times), share))
    claps = np.concatenate((times[kept], more))
    order = np.argsort(claps)
    return claps[order], np.concatenate((kept, np.full(len(more), -1)))[order]


def judge(timeline: Timeline, times: Floats) -> Judged | None:
    """Return the judgement of the fullest try in ``times``, or None where nothing fits."""
    asked = asked_of(timeline, as_take(times), None)
    tries = goes(asked)
    if not tries:
        return None
    return judged_of(timeline, read_of(timeline, asked, tries[fullest(tries)]))


def kind_of(timeline: Timeline, chance: Chance) -> str:
    """Return the name of a mistake, apart where the whole figure is shorter than half a beat."""
    first, last = (timeline.notes[chance.notes[end]] for end in (0, -1))
    beat = timeline.bars[first.place].bar.metre.tempo_value
    small = not chance.after and len(chance.notes) > 1 and last.at - first.at < SMALL * beat
    return f"{chance.what} (within half a beat)" if small else chance.what


def named(timeline: Timeline, judged: Judged | None, chance: Chance) -> bool:
    """Return whether the mistake was named at its place."""
    note = timeline.notes[chance.notes[0]].note
    wanted = (chance.what, note.bar, note.count)
    return judged is not None and any(
        (each.what, each.bar, each.count) == wanted for each in judged.mistakes
    )


def fill(passages: int, *, seed: int = HELD_OUT) -> Table:
    """Return the table for so many passages, in seeds from ``seed`` on."""
    table = Table()
    for number in range(seed, seed + passages):
        rng = np.random.default_rng(number)
        written = lay_out(make_passage(rng))
        for model, perform in MODELS.items():
            timeline = lay_out(written.passage, Practice(speed=2 ** rng.uniform(-0.9, 0.9)))
            performance = perform(written, rng)
            honest = played(written, performance, rng)
            judged = judge(timeline, honest)
            table.notes[model] += len(honest)
            table.flags[model] += len(judged.mistakes) if judged else 0
            if judged:
                away = np.abs(judged.offsets.offsets_s) > judged.offsets.windows_s
                table.off[model] += int(away.sum())
            for share in SLIPS:
                claps, which = slipped(honest, share, rng)
                table.pairs[share] += _pairs(timeline, claps, which)
            for kind, chance in _one_of_each(timeline, rng).items():
                times = played(written, performance, rng, wrong=chance)
                hit = named(timeline, judge(timeline, times), chance)
                table.found[kind, model].append(int(hit))
    return table


def _one_of_each(timeline: Timeline, rng: Random) -> dict[str, Chance]:
    kinds: dict[str, list[Chance]] = defaultdict(list)
    last = len(timeline.bars) - END_BARS
    for chance in chances(timeline):
        if timeline.notes[chance.notes[-1]].place < last:
            kinds[kind_of(timeline, chance)].append(chance)
    return {kind: places[int(rng.integers(len(places)))] for kind, places in kinds.items()}


def _pairs(timeline: Timeline, claps: Floats, which: NDArray[np.int64]) -> Floats:
    """Return (right pairs, pairs, notes that were played)."""
    asked = asked_of(timeline, as_take(claps), None)
    tries = goes(asked)
    found = tries[fullest(tries)].pairs if tries else ()
    label = {float(clap): int(note) for clap, note in zip(claps, which, strict=True)}
    right = sum(label[float(asked.played_s[clap])] == note for note, clap in found)
    return np.array([right, len(found), int((which >= 0).sum())], dtype=float)


def told(table: Table) -> str:
    """Return the table as text."""
    lines = [f"{'':52}" + "".join(f"{model:>9}" for model in MODELS) + "      all     n"]
    for what, counts in (
        ("mistakes named", table.flags),
        ("notes called early or late", table.off),
    ):
        rates = [100 * counts[model] / table.notes[model] for model in MODELS]
        mean = 100 * sum(counts.values()) / sum(table.notes.values())
        cells = "".join(f"{rate:9.2f}" for rate in (*rates, mean))
        title = f"honest, for 100 notes: {what}"
        lines.append(f"{title:52}{cells}{sum(table.notes.values()):6}")
    for kind in sorted({kind for kind, _ in table.found}):
        rates = [100 * table.rate(kind, (model,))[0] for model in MODELS]
        mean, count = table.rate(kind)
        cells = "".join(f"{rate:8.0f}%" for rate in (*rates, 100 * mean))
        lines.append(f"{kind:52}{cells}{count:6}")
    for share in SLIPS:
        precision, recall = table.matching(share)
        label = f"matching, {100 * share:.0f} % missing and {100 * share:.0f} % extra"
        lines.append(f"{label:52}precision {precision:.3f}  recall {recall:.3f}")
    return "\n".join(lines)


if __name__ == "__main__":
    wanted = [int(word) for word in sys.argv[1:]]
    how_many = wanted[0] if wanted else 40
    sys.stdout.write(told(fill(how_many, seed=wanted[1] if wanted[1:] else HELD_OUT)) + "\n")
