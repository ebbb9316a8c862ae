"""A take: what a person played, as onsets on one clock.

Times are seconds from the start of the take (its first sample, first MIDI tick, or the zero of
the text file).  Nothing here knows the passage: what was heard is kept apart from what was
written, so that a take can be judged again when the rules improve.
"""

import math
from dataclasses import dataclass

from rhythmtrain.errors import TakeError


@dataclass(frozen=True, slots=True)
class Heard:
    """One onset: when, how strong (dB over what lies around it; 0 where unknown), how sure.

    ``length_s`` is how long the sound was held where that can be known (MIDI, keys), else None.
    """

    time_s: float
    strength: float = 0.0
    uncertainty_s: float = 0.0
    length_s: float | None = None


@dataclass(frozen=True, slots=True)
class Take:
    """Everything heard in one take, in order of time.

    ``source`` is "audio", "midi", "text", "keys" …; ``name`` what a person calls it (file name);
    ``hidden_s`` when something else was so loud that an onset may have gone unheard; ``remarks`` what a
    person is to be told of the file.

    Raises:
        TakeError: times that are no numbers or run backwards.
    """

    source: str
    name: str
    heard: tuple[Heard, ...]
    duration_s: float
    hidden_s: tuple[float, ...] = ()
    remarks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse times that cannot be compared."""
        times = [each.time_s for each in self.heard]
        if not all(math.isfinite(time) for time in times):
            raise TakeError(f"{self.name}: a time in the take is not a number of seconds")
        if times != sorted(times):
            raise TakeError(f"{self.name}: the times in the take run backwards")

    @property
    def times_s(self) -> tuple[float, ...]:
        """Return the times of the onsets in seconds."""
        return tuple(each.time_s for each in self.heard)
