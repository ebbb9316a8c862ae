"""How far a recording is to be believed about its beats, and how freely its tempo moves.

Neither is assumed.  Of four spreads of tempo the one is taken under which the recording is most
likely.  Where the recording misleads however it is read, a person's marks come as a surprise: of
three degrees of belief the one is taken under which the marks are most likely, given the recording;
the fullest unless another is plainly better.

How sure a beat is, is asked of lattices that are more careful twice over.  They believe the
recording only half as much: neighbouring frames say much the same, and taken at their word they make
a miscount look certain.  And they let the tempo move as in the likeliest spread or more freely: where
a player lingers at the end of each phrase and the marks stand there, the marks lie evenly, the
likeliest spread is too small, and a map that passes every phrase at an even pace looks sure of itself.
A freer spread counts ``exp(SPREAD_SHARE · (log evidence - log evidence of the likeliest))``.
"""

import math
from dataclasses import dataclass, replace

from rhythmtrain.notate.beats.lattice import Floats, Lattice, intervals_of, log_evidence
from rhythmtrain.notate.beats.phases import phase_worth

STEP_SDS = (0.03, 0.05, 0.08, 0.14)
# How far the recording is believed, and half as far.  On 20 steady accompanists (development seeds
# 2000 to 2019) with two marks asked for .988 of the beats are right, where the fullest belief alone
# gives .982: what it leaves to be gained, most of which off-beats that are read over (``phases``) give,
# is in quick music of two beats a bar.  On 14 expressive players (1000 to 1013) they make no difference.
FULLEST = 0.45
BELIEFS = ((FULLEST, 0.25), (0.25, 0.14), (0.12, 0.07))
PLAINLY = 4.0
# Chosen on 60 expressive performances with a mark every four bars (development seeds 1000 to 1059),
# where the bars to be heard first then hold .972 of the wrong beats instead of .964 and Brier's score
# of the chances falls from .0443 to .0428.  On 60 others, looked at once (held-out seeds 9000 to
# 9059), they hold .970 instead of .954, for .230 of the bars named instead of .224.
SPREAD_SHARE, LEAST_SHARE = 0.15, 0.01

Shares = tuple[tuple[float, Lattice], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Weighed:
    """A lattice under one belief, with its likeliest spread of tempo.

    ``freer`` are greater spreads, each with its share, beginning with the likeliest itself;
    ``marks_worth`` is the logarithm of how likely the marks are, given the recording; ``wary`` how
    far the recording is believed where it is asked how sure a beat is.
    """

    lattice: Lattice
    freer: tuple[tuple[float, float], ...]
    marks_worth: float
    wary: float


def believed_lattices(lattice: Lattice, phases: Floats, hop: int) -> tuple[Lattice, Shares]:
    """Return ``lattice`` as it is to be solved, and those to be asked how sure a beat is.

    Of these each has its share; shares sum to 1.  ``phases``, shape (7, n), is what the recording
    shows, ``hop`` how many of its frames are one of the lattice's.
    """
    weighed = [_weighed(lattice, phases, hop, belief) for belief in BELIEFS]
    best = max(weighed, key=lambda each: each.marks_worth)
    chosen = best if best.marks_worth > weighed[0].marks_worth + PLAINLY else weighed[0]
    wary = _believing(chosen.lattice, phases, hop, chosen.wary)
    return chosen.lattice, tuple((share, replace(wary, step_sd=sd)) for sd, share in chosen.freer)


def _weighed(lattice: Lattice, phases: Floats, hop: int, belief: tuple[float, float]) -> _Weighed:
    believing = _believing(lattice, phases, hop, belief[0])
    totals = {sd: log_evidence(replace(believing, step_sd=sd)) for sd in STEP_SDS}
    sd = max(totals, key=lambda each: totals[each])
    likeliest = replace(believing, step_sd=sd)
    unmarked = replace(likeliest, marks=(None,) * len(lattice.marks))
    marks_worth = totals[sd] - log_evidence(unmarked)
    return _Weighed(likeliest, _freer(totals, sd), marks_worth, belief[1])


def _freer(totals: dict[float, float], likeliest: float) -> tuple[tuple[float, float], ...]:
    """Return the ``likeliest`` spread and greater ones with their shares, which sum to 1."""
    weights = {
        sd: math.exp(SPREAD_SHARE * (total - totals[likeliest]))
        for sd, total in totals.items()
        if sd >= likeliest
    }
    kept = {sd: weight for sd, weight in weights.items() if weight > LEAST_SHARE}
    whole = sum(kept.values())
    return tuple((sd, weight / whole) for sd, weight in kept.items())


def _believing(lattice: Lattice, phases: Floats, hop: int, believed: float) -> Lattice:
    """Return ``lattice`` with the recording believed as far as ``believed``."""
    worth, first = phase_worth(phases, intervals_of(lattice.mean), hop, believed=believed)
    return replace(lattice, worth=worth, first_worth=first)
