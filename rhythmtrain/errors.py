"""The errors a person can meet, branched by who can mend them.

::

    RhythmtrainError
    ├── RequestError      the person who typed the command (a speed of 0, bars that do not exist)
    ├── DrillError        the writer of the passage (a count the metre lacks); knows line and column
    ├── TakeError         the player or the recording (silent, too short, another piece)
    ├── FileError         whoever keeps the files (missing, unreadable, damaged, a full disk)
    ├── DeviceError       whoever plugs things in (no sound card, an unplugged microphone)
    └── MissingPartError  whoever installs (a library that is not there), with the command to type

A message is one sentence: the thing, the value, what is allowed, the likely remedy.  A driver's
or library's own exception stops at the edge that called it, with ``raise … from``.
"""


class RhythmtrainError(Exception):
    """Anything that a person can be told in one sentence; never raised itself."""


class RequestError(RhythmtrainError):
    """A wish that cannot be met as typed: an option out of range, bars that do not exist."""


class DrillError(RhythmtrainError):
    """A passage or drill file that does not read, with its place in the text.

    ``line`` and ``column`` count from 1 in the text that was read; ``bar`` is the bar's number
    and ``file`` the name of the file.  Each is None where it is not known.
    """

    def __init__(
        self,
        message: str,
        *,
        line: int | None = None,
        column: int | None = None,
        bar: int | None = None,
        file: str | None = None,
    ) -> None:
        """Keep the plain message and the place; ``str()`` shows both."""
        super().__init__(message)
        self.message = message
        self.line = line
        self.column = column
        self.bar = bar
        self.file = file

    def __str__(self) -> str:
        """Return the place and the message: "towpath.toml:7, bar 3: beat 3 is named, but …"."""
        parts = []
        if self.file is not None:
            parts.append(self.file if self.line is None else f"{self.file}:{self.line}")
        elif self.line is not None:
            parts.append(f"line {self.line}")
            parts += [] if self.column is None else [f"column {self.column}"]
        parts += [] if self.bar is None else [f"bar {self.bar}"]
        return f"{', '.join(parts)}: {self.message}" if parts else self.message


class TakeError(RhythmtrainError):
    """A take in which nothing can be heard, or nothing that belongs to the passage."""


class FileError(RhythmtrainError):
    """A file that is missing, unreadable, damaged, or cannot be written."""


class DeviceError(RhythmtrainError):
    """A device that is missing, busy, or went away."""


class MissingPartError(RhythmtrainError):
    """A library or program that is not installed; the message gives the command that installs it."""
