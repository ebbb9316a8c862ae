"""A take through a sound server, in a process of its own; prints what came of it as JSON.

``python -m tests.real.child_take DEVICE SECONDS LATENCY [output|another_rate|torn]``.  The track is
noise that is hardly louder than nothing, with a click at random times, so that a shift by one
sample shows.
"""

import json
import sys
import time
from collections.abc import Iterator
from typing import Any

import numpy as np

from rhythmtrain.capture.clock import ClockLine
from rhythmtrain.devices.ports import Block, Passed, gathered
from rhythmtrain.devices.sound_card import SoundCard
from rhythmtrain.devices.sound_duplex import SoundDuplex, SoundOutput
from rhythmtrain.errors import DeviceError, MissingPartError, TakeError

RATE = 48_000
CLICK = (0.8 * np.hanning(64) * np.sin(2 * np.pi * 3000 * np.arange(64) / RATE)).astype(np.float32)


def track(seconds: float) -> Block:
    """Return the track, shape (n,)."""
    random = np.random.default_rng(1)
    sound = (1e-3 * random.standard_normal(round(seconds * RATE))).astype(np.float32)
    for begin_s in np.arange(1.0, seconds - 0.2, 0.3) + random.uniform(0, 0.1):
        at = round(begin_s * RATE)
        sound[at : at + 64] += CLICK
    return sound


def blocks(sound: Block, *, torn: bool = False) -> Iterator[Block]:
    """Yield the track in uneven blocks, as a mixer would; a ``torn`` one fails at its end."""
    for at in range(0, len(sound), 5000):
        yield sound[at : at + 5000]
    if torn:
        raise DeviceError("the page is torn")


def main(device: str, seconds: float, latency: str, kind: str) -> None:
    """Play, record, compare."""
    wish = float(latency) if latency[0].isdigit() else latency
    rate = 44_100 if kind == "another_rate" else RATE
    card = SoundCard(device, device, latency=wish, rate=rate)
    sound = track(seconds)
    make = SoundOutput if kind == "output" else SoundDuplex
    begun = time.perf_counter()
    got: list[Passed] = []
    told = False
    with make(blocks(sound, torn=kind == "torn"), card) as port:
        while port.ended is None:
            got.append(port.poll(0.05))
            if not told and got[-1].stamps and got[-1].stamps[-1].frame > RATE:
                print("playing", flush=True)
                told = True
    passed = gathered(got)
    print(
        json.dumps(
            _summary(sound, passed, took_s=time.perf_counter() - begun)
            | {
                "ended": port.ended.how.value,
                "reason": port.ended.reason,
                "claimed_delay_ms": port.claimed_delay_s * 1e3,
            }
        )
    )


def _summary(sound: Block, passed: Passed, *, took_s: float) -> dict[str, object]:
    line = ClockLine(RATE)
    jumps = [xrun.end for xrun in passed.xruns if xrun.what == "played"]
    for stamp in passed.stamps:
        while jumps and jumps[0] <= stamp.frame:
            line.lost(jumps.pop(0))
        line.add(stamp.frame, stamp.time_s)
    model = line.model()
    late = [s.time_s - model.clock_seconds(s.frame / RATE) for s in passed.stamps]
    heard = np.concatenate([each.samples for each in passed.recorded] or [np.zeros(0, np.float32)])
    handed_s = {stamp.frame: stamp.time_s for stamp in passed.stamps}
    return {
        "took_s": took_s,
        "recorded": len(heard),
        "whole": [each.frame for each in passed.recorded][:1] in ([], [0]),
        "xruns": [(x.first, x.end, x.what) for x in passed.xruns],
        "lost_at_s": sorted({handed_s[xrun.first] for xrun in passed.xruns}),
        "error_ms": model.error_s * 1e3,
        "drift_ppm": model.drift_ppm,
        "late_ms": [float(x) * 1e3 for x in np.quantile(late, [0.5, 0.95, 1.0])],
        **(found := _delays(sound, heard)),
        "differ_at_s": _differ(sound, heard, found.get("delay", -1), handed_s),
    }


def _differ(sound: Block, heard: Block, delay: int, handed_s: dict[int, float]) -> list[float]:
    """Return when the blocks were handed over in which something else was heard than was played."""
    if delay < 0:
        return []
    both = min(len(sound), len(heard) - delay)
    frames = np.flatnonzero(heard[delay : delay + both] != sound[:both]) + delay
    starts = np.array(sorted(handed_s))
    return [handed_s[at] for at in np.unique(starts[np.searchsorted(starts, frames, "right") - 1])]


def _delays(sound: Block, heard: Block) -> dict[str, Any]:
    """Return where each click was heard, in frames after it was handed out."""
    if len(heard) < RATE:
        return {}
    after = []
    for at in np.flatnonzero(np.correlate(sound, CLICK, "valid") > 0.98 * float(CLICK @ CLICK)):
        window = heard[at : at + 9600]
        fit = np.correlate(window, CLICK, "valid") if len(window) == 9600 else np.zeros(0)
        if len(fit) and fit.max() > 0.25 * float(CLICK @ CLICK):
            after.append(int(fit.argmax()) if fit.argmax() else 0)
    delay = int(np.median(after)) if after else -1
    both = min(len(sound), len(heard) - delay)
    same = delay >= 0 and bool(np.array_equal(heard[delay : delay + both], sound[:both]))
    return {"delays": sorted(after), "delay": delay, "same": same}


if __name__ == "__main__":
    try:
        main(sys.argv[1], float(sys.argv[2]), sys.argv[3], (*sys.argv[4:], "duplex")[0])
    except (DeviceError, MissingPartError, TakeError) as error:
        print(json.dumps({"error": str(error)}))
