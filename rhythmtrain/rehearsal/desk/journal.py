"""The journal of a take at the page: everything that came of it, on the disk as it comes.

A line of JSON for the beginning, then one for every second or so (taps, clock readings, levels),
and beside it the microphone's samples, each batch at its frame.  So neither a closed page nor a
program that is killed loses what came until then: what was never ended is found here.

Requests may cross on their way: a line may come twice (its part's number tells), and none is taken
once the take was ended.
"""

import json
import os
import re
import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.storage.folders import files_there
from rhythmtrain.storage.safely import told_plainly

LINES, SOUND = ".jsonl", ".i16"
LONGEST_S, FARTHEST = 45 * 60, 2**52
MOST_BYTES, MOST_SOUND = 64_000_000, 256_000_000
SAMPLE, LOUDEST = np.dtype("<i2"), np.float32(32_767)
# A batch of sound begins with its frame, as a whole number of eight bytes, and how many samples follow.
HEAD = np.dtype([("frame", "<i8"), ("many", "<i8")])
OVER = "that take is over: begin a new one"
_NAME = re.compile(r"[\w-]{8,40}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Journal:
    """The journal called ``name`` in ``folder``."""

    folder: Path
    name: str

    def __post_init__(self) -> None:
        """Refuse a name that leads elsewhere."""
        if not _NAME.fullmatch(self.name):
            raise RequestError(f"there is no take {self.name[:40]!r}: begin a new one")

    @property
    def lines_path(self) -> Path:
        """Return where the lines are."""
        return self.folder / f"{self.name}{LINES}"

    @property
    def sound_path(self) -> Path:
        """Return where the microphone's samples are."""
        return self.folder / f"{self.name}{SOUND}"

    def add(self, line: Mapping[str, Any]) -> None:
        """Add a line; it is on its way to the disk when this returns.

        Raises:
            FileError: the disk is full, or may not be written to.
            RequestError: more than any take holds.
        """
        text = json.dumps(line, ensure_ascii=False, allow_nan=False)
        self._append(self.lines_path, f"{text}\n".encode())

    def add_sound(self, frame: int, data: bytes) -> None:
        """Add the microphone's samples from ``frame`` of the audio context on, of 16 bits."""
        if len(data) % SAMPLE.itemsize or abs(frame) > FARTHEST:
            raise RequestError(
                f"sound comes in samples of 2 bytes from a frame on, got {len(data)} from {frame:.9g}"
            )
        head = np.array([(frame, len(data) // SAMPLE.itemsize)], HEAD)
        self._append(self.sound_path, head.tobytes() + data, most=MOST_SOUND)

    def lines(self) -> list[dict[str, Any]]:
        """Return all lines that are whole, the beginning first; a part that came twice counts once.

        Raises:
            RequestError: there is no such take.
        """
        if not self.lines_path.is_file():
            raise RequestError(OVER)
        return list(_each_once(_whole(self.lines_path.read_bytes())))

    def sound(self, start_frame: int, rate: int) -> NDArray[np.float32]:
        """Return what the microphone heard from ``start_frame`` on, silent where nothing came.

        Raises:
            TakeError: sound that lies hours away.
        """
        batches = list(self._batches())
        ends = [frame - start_frame + len(samples) for frame, samples in batches]
        length = max([0, *ends])
        if length > LONGEST_S * rate:
            raise TakeError(f"the take is longer than {LONGEST_S // 60} minutes: make shorter ones")
        heard = np.zeros(length, np.float32)
        for frame, samples in batches:
            at = frame - start_frame
            kept = samples[max(0, -at) :]
            heard[max(at, 0) : max(at, 0) + len(kept)] = kept
        return heard

    def gone(self) -> None:
        """Remove the journal: what it held is in the history now, or was nothing."""
        self.lines_path.unlink(missing_ok=True)
        self.sound_path.unlink(missing_ok=True)

    def _append(self, path: Path, data: bytes, most: int = MOST_BYTES) -> None:
        with told_plainly(path), path.open("ab") as file:
            if file.tell() + len(data) > most:
                raise RequestError("this take has grown too long: stop it, and begin a new one")
            file.write(data)
            file.flush()
            os.fdatasync(file.fileno()) if hasattr(os, "fdatasync") else os.fsync(file.fileno())

    def _batches(self) -> Iterator[tuple[int, NDArray[np.float32]]]:
        if not self.sound_path.is_file():
            return
        data = self.sound_path.read_bytes()
        at = 0
        while at + HEAD.itemsize <= len(data):
            frame, many = (int(each) for each in np.frombuffer(data, HEAD, 1, at)[0])
            at += HEAD.itemsize
            whole = min(many, (len(data) - at) // SAMPLE.itemsize)
            yield frame, np.frombuffer(data, SAMPLE, whole, at).astype(np.float32) / LOUDEST
            at += whole * SAMPLE.itemsize


class Journals:
    """The journals of the takes in one folder: each begun, added to, and ended once."""

    def __init__(self, folder: Path) -> None:
        """Keep them in ``folder``."""
        self._folder = folder
        self._lock = Lock()
        self._ended: set[str] = set()

    def begin(self, line: Mapping[str, Any]) -> str:
        """Begin a journal with ``line`` and return its name.

        Raises:
            FileError: the disk is full, or may not be written to.
        """
        journal = Journal(self._folder, secrets.token_urlsafe(12))
        journal.add(line)
        return journal.name

    def add(self, name: str, line: Mapping[str, Any]) -> None:
        """Add ``line`` to the journal ``name``; RequestError where that take is over."""
        with self._lock:
            self._going_on(name).add(line)

    def add_sound(self, name: str, frame: int, data: bytes) -> None:
        """Add the microphone's samples from ``frame`` on; RequestError where that take is over."""
        with self._lock:
            self._going_on(name).add_sound(frame, data)

    def end(self, name: str) -> Journal:
        """Return the journal ``name``, to which nothing is added from now on.

        Raises:
            RequestError: there is none, or it was ended before.
        """
        with self._lock:
            journal = self._going_on(name)
            self._ended.add(name)
        return journal

    def unfinished(self) -> list[Journal]:
        """Return the journals of takes that were never ended, the oldest first."""
        return [
            Journal(self._folder, path.stem)
            for path in reversed(files_there(self._folder))
            if path.suffix == LINES and _NAME.fullmatch(path.stem)
        ]

    def _going_on(self, name: str) -> Journal:
        journal = Journal(self._folder, name)
        if name in self._ended or not journal.lines_path.is_file():
            raise RequestError(OVER)
        return journal


def _whole(data: bytes) -> Iterator[dict[str, Any]]:
    """Yield the lines that were written whole; what a killed program left half-written ends them."""
    for line in data.split(b"\n"):
        if line.strip():
            try:
                value = json.loads(line)
            except ValueError:
                return
            if isinstance(value, dict):
                yield value


def _each_once(lines: Iterator[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    seen = set()
    for line in lines:
        part = line.get("part")
        if part is None or part not in seen:
            yield line
        seen.add(part)
