"""Of onsets that lie too close together to be two, one: the earlier, unless the later weighs more."""

from collections.abc import Iterator

from rhythmtrain.hearing.onsets.kinds import Kind
from rhythmtrain.hearing.onsets.onset import Onset


class HeldBack:
    """Holds each onset back until it is sure that the next is another."""

    def __init__(self, kind: Kind) -> None:
        """Begin with none; ``kind`` says what is too close, and what weighs plainly more."""
        self._kind = kind
        self._held: Onset | None = None
        self._weight = 0.0

    def followed_by(self, onset: Onset, weight: float) -> Iterator[Onset]:
        """Yield the onset held back if ``onset`` is surely another; of a pair hold one back."""
        held = self._held
        if held is None or onset.time_s - held.time_s >= self._kind.merge_s:
            if held is not None:
                yield held
        elif weight <= self._weight + self._kind.heavier:
            return
        self._held, self._weight = onset, weight

    def rest(self) -> Iterator[Onset]:
        """Yield the last one."""
        if self._held is not None:
            yield self._held
        self._held = None
