"""An onset, and whether a rise in the bands is one."""

from dataclasses import dataclass

from rhythmtrain.hearing.onsets.attack import Attack
from rhythmtrain.hearing.onsets.kinds import Kind

EVIDENCE_PER_DB = 40.0


@dataclass(frozen=True, slots=True)
class Onset:
    """A sound that starts.

    Attributes:
        time_s: Where it reaches 5 % of its peak, in seconds from the first sample.
        strength: How far it stands over the sound just before, in dB, in its best band.
        uncertainty_s: Standard error of ``time_s``.
    """

    time_s: float
    strength: float
    uncertainty_s: float


def stands_out(attack: Attack, flux_db: float, kind: Kind) -> bool:
    """Return whether an attack that rose by ``flux_db`` over the usual is more than noise makes.

    Noise alone seldom shows both a rise in the bands and a change in the wave: the sum of the two
    parts them better than either (measured on the sets of tests/simulate/scenes.py).
    """
    if flux_db >= kind.plain_flux_db:
        return True
    return (
        attack.strength_db >= kind.least_strength_db
        and attack.evidence >= kind.least_evidence
        and attack.evidence + EVIDENCE_PER_DB * flux_db >= kind.least_sum
    )
