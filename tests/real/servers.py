"""Private sound servers without hardware, each with a name of its own.

A client must be gone before its server is: a JACK client whose server was stopped may hang.  So
servers are stopped when the fixture ends, after every child process of the test was waited for.
"""

import os
import shutil
import subprocess
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Thread

import pytest

ANSWER_S = 120.0
ENDS_S = 20.0
PULSE_SETTLES_S = 2.2
PERIOD, LONG_PERIOD = 256, 1024
FIRST = ("chrt", "--fifo", "10")
OWN_TURN = b"JackTimedDriver::Process XRun"
RATE = 48_000


@dataclass(frozen=True, slots=True)
class Server:
    """A server that runs: what its clients need in their environment, and its process.

    ``period`` is how many frames it takes at a time; ``late_s`` grows by the moments at which it said
    that it was late itself.
    """

    env: Mapping[str, str]
    process: subprocess.Popen[bytes]
    period: int = PERIOD
    late_s: list[float] = field(default_factory=list)


def need(*programs: str) -> None:
    """Skip where a Debian program is missing, and say which."""
    for program in programs:
        if shutil.which(program) is None:
            pytest.skip(f"{program} is not installed; .ci/run installs it")


@contextmanager
def jack() -> Iterator[Server]:
    """Run a JACK server on its dummy driver, with two loopback ports."""
    need("jackd", "jack_lsp")
    name = f"rt{uuid.uuid4().hex[:8]}"
    env = {
        **os.environ,
        "JACK_DEFAULT_SERVER": name,
        "JACK_NO_AUDIO_RESERVATION": "1",
        "JACK_NO_START_SERVER": "1",
    }
    period, priority = (PERIOD, ["-R", "-P", "10"]) if _goes_first() else (LONG_PERIOD, ["-r"])
    dummy = ["-L", "2", "-d", "dummy", "-r", str(RATE), "-p", str(period)]
    command = ["jackd", "-n", name, *priority, *dummy]
    with _running(command, env, ["jack_lsp"], stderr=subprocess.PIPE) as process:
        server = Server(env, process, period)
        listener = Thread(target=_listen, args=(server,), name="what the server says", daemon=True)
        listener.start()
        yield server
    listener.join()
    if process.returncode:
        _sweep(name, command, env)


def _listen(server: Server) -> None:
    """Note when a server says that its own turn, not that of a client, came late."""
    assert server.process.stderr is not None
    with server.process.stderr as said:
        for line in said:
            if OWN_TURN in line:
                server.late_s.append(time.perf_counter())


def _goes_first() -> bool:
    """Return whether a server may go before ordinary programs.

    So it is on a musician's machine.  Without, only a longer period is kept on a loaded one.
    """
    if shutil.which("chrt") is None:
        return False
    asked = [*FIRST, "true"]
    return subprocess.run(asked, capture_output=True, check=False).returncode == 0


def _sweep(name: str, command: list[str], env: Mapping[str, str]) -> None:
    """Give back the place of a server that was killed.

    JACK keeps eight places for servers on a machine, and only a server of the same name that ends
    in order gives one back.
    """
    with _running(command, env, ["jack_lsp"]):
        pass
    for left in Path("/dev/shm").glob(f"jack_*_{name}_*"):  # noqa: S108  (JACK's own place)
        left.unlink(missing_ok=True)


@contextmanager
def pulse(folder: Path) -> Iterator[Server]:
    """Run a PulseAudio server with a null sink, whose monitor is the microphone."""
    need("pulseaudio", "pactl", "pacat")
    (folder / "run").mkdir(mode=0o700)
    socket = folder / "run" / "native"
    script = folder / "default.pa"
    script.write_text(
        f"load-module module-native-protocol-unix auth-anonymous=1 socket={socket}\n"
        f"load-module module-null-sink sink_name=loop rate={RATE} channels=2 format=s16le\n"
        "set-default-sink loop\nset-default-source loop.monitor\n",
        encoding="utf-8",
    )
    inner = {
        **os.environ,
        "HOME": str(folder),
        "XDG_RUNTIME_DIR": str(folder / "run"),
        "PULSE_RUNTIME_PATH": str(folder / "run"),
        "PULSE_STATE_PATH": str(folder),
    }
    first = FIRST if _goes_first() else ()
    command = [
        *first,
        "pulseaudio",
        "-n",
        "-F",
        str(script),
        "--daemonize=no",
        "--exit-idle-time=-1",
    ]
    env = {**os.environ, "PULSE_SERVER": f"unix:{socket}", "JACK_NO_START_SERVER": "1"}
    with ExitStack() as running:
        process = running.enter_context(
            _running([*command, "--use-pid-file=no"], inner, ["pactl", "info"], asked_with=env)
        )
        sound = ["--latency-msec=10", "--raw", "--format=s16le", f"--rate={RATE}", "--channels=1"]
        # Without clients a null sink turns every two seconds; these keep it awake.
        running.enter_context(_waking(["pacat", "--playback", *sound], env))
        running.enter_context(_waking(["pacat", "--record", *sound], env))
        time.sleep(PULSE_SETTLES_S)
        yield Server(env, process)


@contextmanager
def _running(
    command: list[str],
    env: Mapping[str, str],
    question: list[str],
    *,
    asked_with: Mapping[str, str] | None = None,
    stderr: int = subprocess.DEVNULL,
) -> Iterator[subprocess.Popen[bytes]]:
    process = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL, stderr=stderr)
    try:
        _await_answer(process, question, env if asked_with is None else asked_with)
    except BaseException:
        _stopped(process)
        if process.stderr is not None:
            process.stderr.close()
        raise
    try:
        yield process
    finally:
        _stopped(process)


def _await_answer(
    process: subprocess.Popen[bytes], question: list[str], env: Mapping[str, str]
) -> None:
    end_s = time.monotonic() + ANSWER_S
    while time.monotonic() < end_s and process.poll() is None:
        if subprocess.run(question, env=env, capture_output=True, check=False).returncode == 0:
            return
        time.sleep(0.05)
    pytest.fail(f"{process.args!r} did not answer")


@contextmanager
def _waking(command: list[str], env: Mapping[str, str]) -> Iterator[None]:
    with Path("/dev/zero").open("rb") as silence:
        process = subprocess.Popen(
            command, env=env, stdin=silence, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
    try:
        yield
    finally:
        _stopped(process)


def _stopped(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(ENDS_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait(ANSWER_S)
