"""Takes through real sound servers on a machine without a sound card."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.real.servers import PERIOD, RATE, Server
from tests.real.witness import watched

ROOT = Path(__file__).parents[2]
WAIT_S = 240.0
ATTEMPTS = 6
STILL_S = 60.0  # a take of 3.5 s through a server that has come to a standstill
LONG_S, SOON_S = "90", 60  # a take that would go on, and when it is over at the latest
TEN_MINUTES_S, BEFORE_S = 600, 8
# A server's client hears of a late turn from a thread that waits like any other: 22 ms were seen.
NOTICED_S = 0.05
WRITTEN_S = 0.002  # what the server says itself is read a little later
MOST_STILL = 0.05


def _child(server: Server, *words: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "tests.real.child_take", *words],
        cwd=ROOT, env=dict(server.env), text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip


@contextmanager
def _playing(server: Server, device: str) -> Iterator["subprocess.Popen[str]"]:
    """Give a take that plays; one to which the server never came, on a busy machine, is begun again."""
    for attempt in range(1, ATTEMPTS + 1):
        with _child(server, device, LONG_S, "low") as child:
            assert child.stdout is not None
            said = child.stdout.readline().strip()
            if said == "playing" or attempt == ATTEMPTS:
                assert said == "playing", child.communicate(timeout=WAIT_S)
                yield child
                return


def _told(child: "subprocess.Popen[str]", wait_s: float = WAIT_S) -> dict[str, Any]:
    try:
        out, err = child.communicate(timeout=wait_s)
    except subprocess.TimeoutExpired:
        child.kill()
        child.communicate()
        raise
    assert child.returncode == 0, err[-800:]
    told: dict[str, Any] = json.loads(out.splitlines()[-1])
    return told


def test_a_take_through_jack_comes_back_exact_to_the_sample(jack_server: Server) -> None:
    """What was played is heard whole periods later, every sample of it.

    A loaded machine without real-time rights may lose a period; then it must be counted, and the
    take is made again.
    """
    for _ in range(ATTEMPTS):
        told = _told(_child(jack_server, "loopback", "3", "low"))
        assert told["ended"] == "finished"
        assert told.get("same") or told["xruns"]
        if told.get("same"):
            assert told["delay"] % PERIOD == 0
            assert len(told["delays"]) >= 5
            assert told["delays"] == [told["delay"]] * len(told["delays"])
            return
    pytest.fail(f"no take of {ATTEMPTS} came back whole")


def test_a_track_is_played_through_jack_without_a_microphone(jack_server: Server) -> None:
    """Keys and MIDI need only the loudspeaker; the stamps give one clock for both.

    Stamps that come late one and all, on a machine with too much to do, tell of no clock: then it is
    played again.
    """
    drifts, errors = [], []
    for _ in range(ATTEMPTS):
        told = _told(_child(jack_server, "loopback", "2.5", "low", "output"))
        assert told["ended"] == "finished"
        assert told["recorded"] == 0
        drifts.append(abs(told["drift_ppm"]))
        errors.append(told["error_ms"])
        if drifts[-1] < 2000 and errors[-1] < 5:
            return
    pytest.fail(f"drifts {drifts} ppm, errors {errors} ms")


def test_a_take_through_pulseaudio_keeps_one_delay(pulse_server: Server) -> None:
    """The delay is not known beforehand, but it stays the same within a take.

    A server that is held up moves it and tells nobody, or comes to a standstill, or breaks off (seen
    under load); then the take is made again, and with longer turns, which wait for less.
    """
    moved: list[float | None] = []
    for latency in ("low", "low", *["0.1"] * ATTEMPTS):
        try:
            told = _told(_child(pulse_server, "pulse", "3.5", latency), wait_s=STILL_S)
        except subprocess.TimeoutExpired:
            moved.append(None)
            continue
        if told.get("ended") != "finished":
            moved.append(None)
            continue
        moved.append(max(told["delays"]) - min(told["delays"]) if told["delays"] else None)
        if len(told["delays"]) >= 3 and moved[-1] is not None and moved[-1] <= 1:
            assert 0 < told["delay"] / RATE < 0.4
            return
    pytest.fail(f"the delay moved by {moved} frames")


def test_a_server_that_goes_away_leaves_the_take_so_far(pulse_server: Server) -> None:
    """Somebody pulls the plug: what was played is kept, and one line says what happened."""
    with _playing(pulse_server, "pulse") as child:
        pulse_server.process.terminate()
        told = _told(child)
    assert told["ended"] == "went away"
    assert told["recorded"] > RATE / 2
    assert told["reason"]
    assert told["took_s"] < SOON_S


@pytest.mark.parametrize("signal_name", ["SIGTERM", "SIGKILL"])
def test_a_jack_server_that_is_stopped_or_killed_leaves_the_take_so_far(
    own_jack_server: Server, signal_name: str
) -> None:
    """A client of a dead JACK server would hang for ever when it is closed; the program may not."""
    with _playing(own_jack_server, "loopback") as child:
        own_jack_server.process.send_signal(signal.Signals[signal_name])
        told = _told(child)
    assert told["ended"] == "went away"
    assert told["recorded"] > RATE / 2
    assert "loopback" in told["reason"]
    assert told["took_s"] < SOON_S


def test_a_device_that_is_not_there_is_named(jack_server: Server) -> None:
    """One sentence, with what there is."""
    told = _told(_child(jack_server, "no such card", "1", "low"))
    assert "no such card" in told["error"]
    assert "Traceback" not in told["error"]


def test_a_rate_that_the_server_does_not_run_at_is_refused_with_its_own(
    jack_server: Server,
) -> None:
    """One sentence that says which rate to take."""
    told = _told(_child(jack_server, "loopback", "1", "low", "another_rate"))
    assert "cannot be opened at 44100" in told["error"]
    assert "its own rate, 48000" in told["error"]


def test_a_track_that_cannot_be_made_stops_the_stream_and_says_why(jack_server: Server) -> None:
    """A mistake in the making of sound reaches the one who asked for it."""
    told = _told(_child(jack_server, "loopback", "1", "low", "torn"))
    assert told["error"] == "the page is torn"


@pytest.mark.parametrize("latency", ["low", "high"])
def test_both_ways_of_buffering_give_the_same_sound(jack_server: Server, latency: str) -> None:
    """A slow machine may ask for larger buffers and loses nothing."""
    told = _told(_child(jack_server, "loopback", "2.2", latency))
    assert told.get("same") or told["xruns"]


@pytest.mark.long
def test_ten_minutes_at_a_block_of_256_lose_nothing(jack_server: Server) -> None:
    """A whole practice session on two cores: every sample in its place, no callback of ours late.

    A virtual machine stands still now and then, and the server with it: processes that only sleep,
    and go before the server, see that, or the server says that its own turn came late.  What was
    late, or not heard as it was played, at any other time is ours.
    """
    with watched(TEN_MINUTES_S + BEFORE_S) as witnesses:
        told = _told(_child(jack_server, "loopback", f"{TEN_MINUTES_S}", "low"), wait_s=800)
        stood = [*witnesses.saw(), *((late_s, late_s) for late_s in jack_server.late_s)]
    amiss_s = sorted({*told["lost_at_s"], *told["differ_at_s"]})
    ours = [
        at_s
        for at_s in amiss_s
        if not any(begun < at_s + WRITTEN_S and over > at_s - NOTICED_S for begun, over in stood)
    ]
    still_s = sum(over - begun + NOTICED_S for begun, over in stood)
    print(
        f"late {len(told['lost_at_s'])} times, other sound in {len(told['differ_at_s'])} blocks, ours "
        f"{len(ours)}; late {told['late_ms']} ms; the machine stood still {len(stood)} times, "
        f"{100 * still_s / TEN_MINUTES_S:.2f} % of the time; load {os.getloadavg()}"
    )
    assert told["ended"] == "finished"
    assert len(told["delays"]) > TEN_MINUTES_S
    assert ours == []
    assert "track" not in {what for _, _, what in told["xruns"]}
    assert still_s < MOST_STILL * TEN_MINUTES_S, "too restless a machine to tell anything here"
