"""Slower without lower: a recording stretched along a map, block by block.

A phase vocoder (Flanagan and Golden 1966) with phases locked around spectral peaks (Laroche and
Dolson 1999).  Windows of about 46 ms are taken from the recording where the map says, and laid
down at even steps in the track.  At each peak of the spectrum the sound must go on from the window
before as it does in the recording, so that peak and the bins around it are turned by

    R = Σ Y(before) · conj X(one step earlier in the recording),   brought to length 1,

where Y is what was laid down and X what was recorded.  The sum runs over the channels and all of
them are turned alike, which keeps the stereo image, but for what overlapping windows take from the
softer side of it: ``image`` gives that back.  Where the map has slope 1 (around
strokes, see ``elastic``) nothing turns anew; what a stroke brings in, bins whose power doubles
over it, is not turned at all, so its edge is the recording's own (after Röbel 2003).

A place of the track is computed from its own second, never from the place before it, so there is
no drift.  Memory holds one window and a block, however long the recording.  The windows of 46 ms
were chosen by measurement: longer ones smear attacks, shorter ones roughen low notes.
"""

from collections import deque
from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.elastic import Elastic, Kept
from rhythmtrain.render.image import Laid, imaged, table_of
from rhythmtrain.render.mixer import Sound
from rhythmtrain.render.windows import Windows

WINDOW_S = 0.0464
ROUND_TO = 64
OVERLAP = 4
# The squared window of von Hann, laid down at quarters of its length, adds up to this.
ADDS_UP_TO = 1.5
NOTHING = 1e-20
# Where the spectrum before a stroke is read: this share of half a window ahead of it.
BEFORE_STROKE = 0.9
DOUBLED = 2.0

Spectrum = NDArray[np.complex64]


def stretched(blocks: Iterable[Sound], rate: int, by: Elastic) -> Iterator[Sound]:
    """Yield the sound of ``blocks`` moved along ``by``, in arrays of shape ``(n, channels)``.

    ``blocks``, at ``rate`` samples a second, begin at second 0 of the recording; what is yielded
    begins at second 0 of the track and ends at the map's last knot.  What the map reaches beyond
    the recording is silence.
    """
    step_s = len(_window(rate)) // OVERLAP / rate
    total = round(by.track_s[-1] * rate)
    done = -len(_window(rate)) // 2
    for ready in imaged(laid_down(blocks, rate, by), step_s):
        begin, end = max(-done, 0), max(min(len(ready), total - done), 0)
        if end > begin:
            yield ready[begin:end]
        done += len(ready)
        if done >= total:
            return


def laid_down(blocks: Iterable[Sound], rate: int, by: Elastic) -> Iterator[Laid]:
    """Yield the track step by step, from half a window before it on, its image not yet mended."""
    window = _window(rate)
    source = Windows(blocks, len(window))
    size, step = len(window), len(window) // OVERLAP
    first, total = round(by.track_s[0] * rate), round(by.track_s[-1] * rate)
    turning, strokes = _Turning(source, window), _Strokes(by.kept)
    ring, wanted = np.zeros((size, 1), np.float32), np.zeros((OVERLAP, 3))
    for centre in range(0, total + size, step):
        now_s = max(centre, first) / rate
        place = round(float(by.recorded(np.array([now_s]))[0]) * rate)
        laid = turning.next(place, strokes.at(now_s), rate)
        sound = (np.fft.irfft(laid, size, axis=1) * window / ADDS_UP_TO).T.astype(np.float32)
        ring = ring + sound
        wanted += _wanted(source.around(place), window)
        # Only where all windows of a step come from inside the recording do they tell of the image.
        whole = (OVERLAP - 1) * step <= centre <= total
        yield Laid(ring[:step], wanted[0] if whole else None)
        ring = np.concatenate((ring[step:], np.zeros_like(ring[:step])))
        wanted = np.concatenate((wanted[1:], np.zeros((1, 3))))


def _wanted(recorded: Sound, window: NDArray[np.float32]) -> NDArray[np.float64]:
    """Return what a window of the recording brings to the image of each step it is laid over."""
    share = recorded * (window / np.sqrt(ADDS_UP_TO, dtype=np.float32))
    left, right = share[0].reshape(OVERLAP, -1), share[-1].reshape(OVERLAP, -1)
    return table_of(left, right)


def _window(rate: int) -> NDArray[np.float32]:
    """Return a window of von Hann whose length divides well."""
    size = max(round(WINDOW_S * rate / ROUND_TO), 1) * ROUND_TO
    return np.hanning(size + 1)[:size].astype(np.float32)


class _Strokes:
    """The strokes along the track, asked for in order of time."""

    def __init__(self, kept: tuple[Kept, ...]) -> None:
        self._coming = deque(kept)

    def at(self, track_s: float) -> Kept | None:
        """Return the stroke around which the map has slope 1 at ``track_s``, if any."""
        coming = self._coming
        while coming and track_s > coming[0].track_s + coming[0].tail_s:
            coming.popleft()
        if coming and track_s >= coming[0].track_s - coming[0].lead_s:
            return coming[0]
        return None


class _Turning:
    """Spectra on their way from the recording into the track."""

    def __init__(self, source: Windows, window: NDArray[np.float32]) -> None:
        self._source = source
        self._window = window
        self._laid: Spectrum | None = None
        self._last: tuple[int, Spectrum] | None = None
        self._stroke: Kept | None = None
        self._brought: NDArray[np.bool_] | None = None

    def next(self, place: int, stroke: Kept | None, rate: int) -> Spectrum:
        """Return the spectrum to lay down for the window around sample ``place``."""
        earlier = place - len(self._window) // OVERLAP
        if self._last is not None and self._last[0] == earlier:
            before = self._last[1]
        else:
            before = self._spectrum(earlier)
        here = self._spectrum(place)
        if stroke is not self._stroke:
            self._stroke = stroke
            self._brought = None if stroke is None else self._bins_brought(stroke, rate)
        self._last = (place, here)
        if self._laid is None:
            self._laid = here
        else:
            self._laid = here * _turns(self._laid, before, here, self._brought)
        return self._laid

    def _bins_brought(self, stroke: Kept, rate: int) -> NDArray[np.bool_]:
        """Return which bins a stroke brings in: those whose power it doubles at least."""
        half_s = len(self._window) / 2 / rate
        before_s = stroke.recorded_s - max(stroke.lead_s, BEFORE_STROKE * half_s)
        before = _power(self._spectrum(round(before_s * rate)))
        after = _power(self._spectrum(round((stroke.recorded_s + stroke.tail_s) * rate)))
        return np.convolve(after - DOUBLED * before, np.ones(3), "same") > 0

    def _spectrum(self, place: int) -> Spectrum:
        window = self._window
        return np.fft.rfft(self._source.around(place) * window, axis=1).astype(np.complex64)


def _power(spectrum: Spectrum) -> NDArray[np.float32]:
    """Return the power in each bin, summed over the channels."""
    power: NDArray[np.float32] = (spectrum.real**2 + spectrum.imag**2).sum(axis=0)
    return power


def _turns(
    laid: Spectrum, before: Spectrum, here: Spectrum, brought: NDArray[np.bool_] | None
) -> Spectrum:
    """Return for each bin the turn of its peak; peaks that are ``brought`` in stay as recorded."""
    power = _power(here)
    peaks = _peaks(power)
    turn = (laid[:, peaks] * before[:, peaks].conj()).sum(axis=0)
    length = np.abs(turn)
    turn = np.where(length > NOTHING, turn / np.maximum(length, NOTHING), 1)
    if brought is not None:
        turn[brought[peaks]] = 1
    middles = (peaks[1:] + peaks[:-1] + 1) // 2
    spans = np.diff(np.concatenate(([0], middles, [power.size])))
    return np.repeat(turn, spans).astype(np.complex64)


def _peaks(power: NDArray[np.float32]) -> NDArray[np.intp]:
    """Return the bins that stand over two neighbours on each side; bin 1 where none does."""
    inner = power[2:-2]
    left = (inner > power[1:-3]) & (inner > power[:-4])
    right = (inner >= power[3:-1]) & (inner >= power[4:])
    found = np.flatnonzero(left & right) + 2
    return found if found.size else np.array([1])
