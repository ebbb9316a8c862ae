"""Sound cards without hardware: what plays, and what also hears its own track in a room.

Errors are chosen: a delay, noise, drift, lost sound, late stamps, a card that goes away at a given
second of the stream.  Time is the clock of ``fake``.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Self

import numpy as np

from rhythmtrain.devices.blocks import even_blocks
from rhythmtrain.devices.fake import FakeClock, FakePort
from rhythmtrain.devices.fake_room import Microphone, Room
from rhythmtrain.devices.ports import Block, Ended, How, Passed, Recorded, Stamp, Xrun, gathered

STILL_ROOM = Room()


@dataclass(frozen=True, slots=True)
class FakeSound:
    """How a fake sound card behaves.

    ``clock_ppm`` is how much too fast its quartz runs against the clock; ``late_s`` the mean of how
    late its stamps are (exponentially spread, from ``room.seed``); ``away_at_s`` the second of the
    stream at which it is gone.
    """

    rate: int = 48_000
    block: int = 256
    channels: int = 2
    tail_s: float = 0.5
    clock_ppm: float = 0.0
    late_s: float = 0.0
    away_at_s: float | None = None
    claimed_delay_s: float = 0.0
    room: Room = STILL_ROOM


ORDINARY = FakeSound()


class FakeOutput(FakePort):
    """A sound card that consumes ``blocks`` in the time of ``clock``."""

    def __init__(
        self, blocks: Iterable[Block], clock: FakeClock, card: FakeSound = ORDINARY
    ) -> None:
        """Take the track; nothing is asked of it before the clock moves."""
        super().__init__("fake sound card", clock, 3.0 * card.late_s)
        self.system = "fakes"
        self.rate = card.rate
        self.claimed_delay_s = card.claimed_delay_s
        self._card = card
        self._random = np.random.default_rng(card.room.seed)
        self._pages = even_blocks(
            blocks, card.block, channels=card.channels, tail=round(card.tail_s * card.rate)
        )
        self._frame = 0
        self._begin_s = clock.now_s()

    def __enter__(self) -> Self:
        """Start the stream now."""
        self._begin_s = self.clock.now_s()
        return self

    def poll(self, wait_s: float = 0.0) -> Passed:
        """Return what passed, after moving the clock to the next block or by ``wait_s``."""
        if self.ended is not None:
            return Passed()
        self.clock.move_to(min(self._due_s(self._frame), self.clock.now_s() + wait_s))
        return gathered(self._turns(self.clock.now_s()))

    def _turns(self, until_s: float) -> Iterator[Passed]:
        """Hand out one block after another, as a driver's callback would."""
        away_at_s = np.inf if self._card.away_at_s is None else self._card.away_at_s
        while self._due_s(self._frame) <= until_s:
            if self._frame >= away_at_s * self.rate:
                self.end(Ended(How.WENT_AWAY, "the fake sound card went away"))
                return
            page = next(self._pages, None)
            if page is None:
                self.end(Ended(How.FINISHED))
                return
            first, self._frame = self._frame, self._frame + len(page)
            stamp = Stamp(first, self._due_s(first) + self._late_s())
            yield Passed((stamp,), self._record(first, page), self._lost(first))

    def _late_s(self) -> float:
        return float(self._random.exponential(self._card.late_s)) if self._card.late_s else 0.0

    def _lost(self, first: int) -> tuple[Xrun, ...]:
        return tuple(
            Xrun(first, self._frame, "played" if each.what == "both" else each.what)
            for each in self._card.room.dropouts
            if each.told and first <= each.first < self._frame
        )

    def _record(self, _first: int, _page: Block) -> tuple[Recorded, ...]:
        return ()

    def _due_s(self, frame: int) -> float:
        lost = sum(each.lost for each in self._card.room.dropouts if each.first <= frame)
        return self._begin_s + (frame + lost) / (self.rate * (1.0 + self._card.clock_ppm * 1e-6))


class FakeDuplex(FakeOutput):
    """A sound card that hears its own track through the card's ``room``."""

    def __init__(
        self, blocks: Iterable[Block], clock: FakeClock, card: FakeSound = ORDINARY
    ) -> None:
        """Take the track and put up the microphone."""
        super().__init__(blocks, clock, card)
        self._microphone = Microphone(card.room, card.rate)

    def _record(self, first: int, page: Block) -> tuple[Recorded, ...]:
        return (Recorded(first, self._microphone.hear(page)),)
