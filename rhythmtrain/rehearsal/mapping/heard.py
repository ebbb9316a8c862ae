"""A recording as it is heard for mapping, and what was found in it."""

from dataclasses import dataclass

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.hearing.recording.active_span import active_span
from rhythmtrain.hearing.recording.spectra import Spectra, SpectraFinder
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.report.maps.text import Mapped
from rhythmtrain.storage.recordings import Recording


@dataclass(frozen=True, slots=True)
class Heard:
    """A recording, what was heard of it from ``start_s`` on."""

    recording: Recording
    spectra: Spectra
    start_s: float

    @property
    def duration_s(self) -> float:
        """Return how long the recording is."""
        return self.start_s + self.spectra.duration_s

    @property
    def music_s(self) -> tuple[float, float]:
        """Return the seconds between which there is music."""
        begun, ended = active_span(self.spectra)
        return begun + self.start_s, ended + self.start_s


@dataclass(frozen=True, slots=True)
class Found:
    """What was mapped, the largest sample, the taps to keep, and sentences on how it went."""

    mapped: Mapped
    peak: float
    taps_s: tuple[float, ...] = ()
    said: tuple[str, ...] = ()


def heard_from(recording: Recording, start_s: float, progress: Progress) -> Heard:
    """Return what is heard of ``recording`` from ``start_s`` on.

    Raises:
        RequestError: it has ended by then.
        TakeError: nothing can be heard in it.
        FileError: it turns out damaged.
    """
    finder = SpectraFinder(recording.rate)
    skipped = round(start_s * recording.rate)
    done = 0
    for block in recording.blocks():
        finder.feed(block[max(skipped - done, 0) :])
        done += len(block)
        progress(done / recording.rate, recording.duration_s or 0.0, "listening")
    if done <= skipped:
        raise RequestError(
            f"the recording lasts {done / recording.rate:.1f} s: it has nothing from "
            f"{start_s:g} s on"
        )
    try:
        return Heard(recording, finder.finish(), start_s)
    except TakeError as error:
        raise TakeError(f"{recording.path}: {error}") from error
