"""How far a recording is to be believed about its beats, and how freely its tempo moves.

Neither is assumed.  Of four spreads of tempo the one is taken under which the recording is most
likely.  In some music the off-beats are struck harder than the beats, and then a person's marks come
as a surprise: of three degrees of belief the one is taken under which the marks are most likely,
given the recording; the fullest unless another is plainly better.
"""

from dataclasses import dataclass, replace

from rhythmtrain.notate.beats.lattice import Floats, Lattice, intervals_of, log_evidence
from rhythmtrain.notate.beats.phases import phase_worth

STEP_SDS = (0.03, 0.05, 0.08, 0.14)
# How far the recording is believed, and half as far.  Chosen on simulated performances (development
# seeds 300 to 363, steady accompanists): with six marks asked for .95 of the beats are right, where
# the fullest belief alone gives .90, and with a mark every four bars .97 instead of .93.
FULLEST = 0.45
BELIEFS = ((FULLEST, 0.25), (0.25, 0.14), (0.12, 0.07))
PLAINLY = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class _Weighed:
    """A lattice under one belief, with its likeliest spread of tempo.

    ``marks_worth`` is the logarithm of how likely the marks are, given the recording; ``wary`` how
    far the recording is believed where it is asked how sure a beat is.
    """

    lattice: Lattice
    marks_worth: float
    wary: float


def believed_lattices(lattice: Lattice, phases: Floats, hop: int) -> tuple[Lattice, Lattice]:
    """Return ``lattice`` as it is to be solved, and as it is to be asked how sure a beat is.

    ``phases``, shape (7, n), is what the recording shows, ``hop`` how many of its frames are one of
    the lattice's.
    """
    weighed = [_weighed(lattice, phases, hop, belief) for belief in BELIEFS]
    best = max(weighed, key=lambda each: each.marks_worth)
    chosen = best if best.marks_worth > weighed[0].marks_worth + PLAINLY else weighed[0]
    return chosen.lattice, _believing(chosen.lattice, phases, hop, chosen.wary)


def _weighed(lattice: Lattice, phases: Floats, hop: int, belief: tuple[float, float]) -> _Weighed:
    believing = _believing(lattice, phases, hop, belief[0])
    tried = (replace(believing, step_sd=sd) for sd in STEP_SDS)
    total, likeliest = max(((log_evidence(each), each) for each in tried), key=lambda pair: pair[0])
    unmarked = replace(likeliest, marks=(None,) * len(lattice.marks))
    return _Weighed(likeliest, total - log_evidence(unmarked), belief[1])


def _believing(lattice: Lattice, phases: Floats, hop: int, believed: float) -> Lattice:
    """Return ``lattice`` with the recording believed as far as ``believed``."""
    worth, first = phase_worth(phases, intervals_of(lattice.mean), hop, believed=believed)
    return replace(lattice, worth=worth, first_worth=first)
