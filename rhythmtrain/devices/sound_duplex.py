"""Playing, and recording in the same stream, through PortAudio.

One full-duplex stream counts its frames: whatever was recorded in a turn of the callback carries
the number of the track frame handed out in that turn, so the way from loudspeaker to microphone is
a whole number of frames that no clock can blur.  The callback copies, counts and queues; everything
else happens where the stream is polled.  The track comes from a queue that is kept a second ahead.

A stream that has lost its device (``stream_watch``) ends, and everything recorded so far can still
be polled.
"""

import threading
import time
from collections.abc import Iterable
from contextlib import ExitStack
from queue import Empty, SimpleQueue
from typing import Any, Self

from rhythmtrain.devices.portaudio import (
    chosen,
    close,
    load,
    quiet,
    refusal,
    sound_devices,
)
from rhythmtrain.devices.ports import (
    Block,
    Ended,
    How,
    Passed,
    gathered,
)
from rhythmtrain.devices.sound_card import USUAL, SoundCard
from rhythmtrain.devices.sound_queue import SoundQueue
from rhythmtrain.devices.sound_turns import Turn, lost_in
from rhythmtrain.devices.stream_watch import StreamWatch
from rhythmtrain.devices.waking import go_first, let_go_first, quick_turns, threads
from rhythmtrain.errors import DeviceError

STAMP_ERROR_S = 0.003
STEREO = 2


class SoundOutput:
    """A loudspeaker that plays ``blocks``."""

    stamp_error_s = STAMP_ERROR_S
    _records = False

    def __init__(self, blocks: Iterable[Block], card: SoundCard = USUAL) -> None:
        """Find the device; DeviceError or MissingPartError where that fails."""
        self._library = load()
        devices = sound_devices()
        self._out = chosen(devices, card.loudspeaker, record=False)
        self._in = chosen(devices, card.microphone, record=True) if self._records else None
        self._card = card
        self.rate = card.rate
        self.system = self._out.system
        self.claimed_delay_s = 0.0
        self._channels = min(STEREO, self._out.outputs)
        self._track = SoundQueue(
            blocks, card.block, channels=self._channels, rate=card.rate, tail_s=card.tail_s
        )
        self._turns: SimpleQueue[Turn] = SimpleQueue()
        self._frame = 0
        self._watch = StreamWatch(self.name, card.rate)
        self._finished = threading.Event()
        self._stream: Any = None
        self._leave = ExitStack()
        self._ended: Ended | None = None
        self._told: Ended | None = None

    @property
    def name(self) -> str:
        """Return the name of the device, or both names."""
        names = [self._out.name, *([self._in.name] if self._in else [])]
        return " and ".join(dict.fromkeys(names))

    @property
    def ended(self) -> Ended | None:
        """Return how the stream ended, None while it works or has something to give.

        Once told it stays, even where a device that was given up calls back again.
        """
        if self._ended is not None and not self._turns.qsize():
            self._told = self._ended
        return self._told

    def stop(self) -> None:
        """Stop now, as STOPPED if nothing ended it before."""
        self._ended = self._ended or Ended(How.STOPPED)
        self._close()

    def __enter__(self) -> Self:
        """Fill the queue and start the stream; DeviceError where the device refuses."""
        self._track.start()
        self._leave.callback(self._track.leave)
        self._leave.enter_context(quick_turns())
        before = threads()
        try:
            with quiet():
                self._stream = self._opened()
                self._stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            self._leave.close()
            raise DeviceError(refusal(error, self.name, self._card.rate, self._out)) from error
        let_go_first(threads() - before)
        latency = self._stream.latency
        self.claimed_delay_s = float(latency[1] if self._records else latency)
        self._watch.begin(time.perf_counter(), self.claimed_delay_s)
        return self

    def __exit__(self, *_: object) -> None:
        """Stop and give the device back."""
        self.stop()

    def poll(self, wait_s: float = 0.0) -> Passed:
        """Return what passed since the last time, waiting up to ``wait_s`` seconds for anything."""
        turns = self._come(0.0 if self._ended else wait_s)
        if self._ended is None:
            runs = self._stream.active and not self._finished.is_set()
            self._ended = self._watch.ended(
                turns, time.perf_counter(), runs=runs, over=self._track.over
            )
        if self._track.error is not None:
            error, self._track.error = self._track.error, None
            self.stop()
            raise error
        return gathered(turn.passed for turn in turns)

    def _opened(self) -> Any:
        settings = {
            "samplerate": self._card.rate,
            "blocksize": self._card.block,
            "latency": self._card.latency,
            "dtype": "float32",
            "finished_callback": self._finished.set,
        }
        if self._in is None:
            return self._library.OutputStream(
                device=self._out.number,
                channels=self._channels,
                callback=self._play,
                **settings,
            )
        return self._library.Stream(
            device=(self._in.number, self._out.number),
            channels=(1, self._channels),
            callback=self._play_and_record,
            **settings,
        )

    def _play(self, out: Block, frames: int, _times: Any, status: Any) -> None:
        self._turn(None, out, frames, status)

    def _play_and_record(
        self, heard: Block, out: Block, frames: int, _times: Any, status: Any
    ) -> None:
        self._turn(heard[:, 0].copy(), out, frames, status)

    def _turn(self, heard: Block | None, out: Block, frames: int, status: Any) -> None:
        """Copy, count and queue; called by the driver and by nobody else."""
        time_s = time.perf_counter()
        if not self._frame:
            go_first()
        in_time = self._track.take(out)
        lost = lost_in(status, late=not in_time) if status or not in_time else ()
        self._turns.put(Turn(self._frame, frames, time_s, heard, lost))
        self._frame += frames
        if self._track.over:
            raise self._library.CallbackStop

    def _come(self, wait_s: float) -> list[Turn]:
        turns: list[Turn] = []
        try:
            turns.append(self._turns.get(timeout=wait_s) if wait_s else self._turns.get_nowait())
            while True:
                turns.append(self._turns.get_nowait())
        except Empty:
            return turns

    def _close(self) -> None:
        stream, self._stream = self._stream, None
        if stream is None:
            return
        gone = self._ended is not None and self._ended.how is How.WENT_AWAY
        close(stream, self._out, gone=gone)
        self._leave.close()


class SoundDuplex(SoundOutput):
    """A loudspeaker and a microphone in one stream, recording while ``blocks`` are played."""

    _records = True
