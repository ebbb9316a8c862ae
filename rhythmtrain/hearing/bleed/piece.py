"""A stretch of a recording, and the track that was played meanwhile on the recording's clock."""

from dataclasses import dataclass

import numpy as np

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.delay import SoundDelay
from rhythmtrain.hearing.bleed.room import AHEAD_S, trust
from rhythmtrain.hearing.bleed.skew import warped


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A stretch from frame ``begin``: its first ``lead`` frames belong to the stretch before."""

    begin: int
    lead: int
    heard: Sound
    track: Sound
    rate: int

    def laid(self, delay: SoundDelay) -> Sound:
        """Return the track on the clock of the recording, a little early."""
        frames = (self.begin, self.begin + len(self.heard))
        ahead_s = delay.delay_s - AHEAD_S
        return warped(self.track, frames, self.rate, delay_s=ahead_s, skew_ppm=delay.skew_ppm)

    def weights(self, bleed: Sound | None) -> Sound:
        """Return how far each sample is to be trusted, once ``bleed`` was predicted."""
        if bleed is not None:
            return self.trusted(self.heard - bleed)
        weights = np.ones(len(self.heard), np.float32)
        weights[: self.lead] = 0
        return weights

    def trusted(self, left: Sound) -> Sound:
        """Return how far each sample is to be trusted where ``left`` is left."""
        weights = trust(left, self.rate)
        weights[: self.lead] = 0
        return weights
