"""How late a track is heard in a recording made while it played.

The whitened cross-correlation of the two, over 300 to 8000 Hz, peaks at the delay: every frequency
counts alike, so a room that rings and a loudspeaker that booms do not move the peak (Knapp and
Carter 1976, the phase transform).  It is taken in windows of one second, and the windows are summed
along every slope that two quartz clocks can differ by (``skew``).  The peak is believed only when
it stands 9 times over the rms of the rest, and when no other place comes near it: a track of clicks
alone comes round too evenly, so words or tones belong in it.  A player with headphones who claps
what the track claps is like it too, at the player's own lateness, but bluntly: hand strokes are
milliseconds long and uneven, and there are few of them.  So the peak must also be in many windows,
or stand sharply over the milliseconds before it, where no room has an answer yet.

The delay holds everything on the way: output, 2.9 ms of air a metre, input.
"""

from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.hearing.bleed.correlation import (
    APART_S,
    LATEST_S,
    Likeness,
    Rows,
    Sound,
    evenness,
    likeness,
)
from rhythmtrain.hearing.bleed.delay_lines import (
    MOST_A_WINDOW,
    STEEPEST,
    best_line,
    fitted,
    levelled,
    refined,
    summed,
)

LEAST_PEAK = 9.0
LONGEST_S = 60.0
ALONE = 0.75
MOST_EVEN = 0.28
LEAST_SUPPORT, STANDS_OUT, LEAST_WINDOWS = 0.6, 6.0, 6
FEWEST_WINDOWS = 3
# How sharp a peak must be (over what lies before it) that is in so many of the windows: claps alone
# beside a track that claps the same reach 4.7 in 0.56 of them and, once in 240 takes of eight
# seconds, 6.3 in fewer (development seeds, four kinds of hand strokes, players even to 6 ms); a
# loudspeaker at -12 dB and above is in half of them and 6.0 sharp, or in 0.6 and more; one at -24 dB
# is 7 sharp (102 takes of the half "tune" of tests/simulate/rooms.py).
SHARP = ((0.6, 0.0), (0.42, 5.2), (0.0, 6.6))
BEFORE_S, CLEAR_S = 0.008, 0.001

UNHEARD = "the track is not heard clearly enough in the recording"
EVEN = "the track comes round too evenly to tell one beat from the next"
SHORT = "there is too little sound to compare"
BRIEF = "the track is heard, but too briefly to tell how late"


@dataclass(frozen=True, slots=True)
class SoundDelay:
    """How late the track is heard, and how that grows.

    Attributes:
        delay_s: The delay of the track's frame 0, in seconds (positive: heard later).
        error_s: Standard error of ``delay_s``.
        peak: How far the peak stood over the rms of the rest.
        skew_ppm: Millionths by which the delay grows with track time.
        skew_error_ppm: Standard error of ``skew_ppm``.
        refused: Why it is not to be believed; empty where it is.
    """

    delay_s: float
    error_s: float
    peak: float
    skew_ppm: float = 0.0
    skew_error_ppm: float = 0.0
    refused: str = ""

    def track_s(self, heard_s: float) -> float:
        """Return which second of the track is heard at ``heard_s`` of the recording."""
        return (heard_s - self.delay_s) / (1 + self.skew_ppm * 1e-6)


def sound_delay(heard: Sound, track: Sound, rate: int) -> SoundDelay | None:
    """Return how late ``track``, shape (m,), is in ``heard``, shape (n,), or None when unsure.

    Both begin at the same frame.  Delays from 0 to one second are looked for, in the first minute.
    """
    found = measured_delay(heard, track, rate)
    return None if found.refused else found


def measured_delay(heard: Sound, track: Sound, rate: int) -> SoundDelay:
    """Return the best delay of ``track`` in ``heard``, with the reason where it is not accepted."""
    longest = round(LONGEST_S * rate)
    seen = likeness(heard[:longest], track[:longest], rate)
    if not len(seen.rows):
        return SoundDelay(0.0, LATEST_S, 0.0, refused=SHORT)
    found = _along(seen, best_line(seen))
    if not found.refused and evenness(track[:longest], rate) > MOST_EVEN:
        return replace(found, refused=EVEN)
    return found


def delay_near(
    heard: Sound, track: Sound, rate: int, *, expected_s: float, within_s: float
) -> SoundDelay:
    """Return the best delay of ``track`` in ``heard`` no more than ``within_s`` from another.

    A track that comes round evenly does not mislead so near a delay that is known: it is refused
    only where the track is not heard.
    """
    longest = round(LONGEST_S * rate)
    seen = likeness(heard[:longest], track[:longest], rate)
    if not len(seen.rows):
        return SoundDelay(0.0, LATEST_S, 0.0, refused=SHORT)
    lags_s = np.arange(seen.rows.shape[1]) / rate
    drifted_s = STEEPEST * seen.middles_s[:, None]
    inside = np.abs(lags_s - expected_s) <= within_s + drifted_s
    near = replace(seen, rows=np.where(inside, seen.rows, np.float32(0)))
    found = _along(seen, best_line(near))
    return replace(found, refused="") if found.refused == EVEN else found


def _along(seen: Likeness, near: tuple[float, float]) -> SoundDelay:
    """Return the delay on the line it lies ``near``, made as fine as the windows allow, or refused."""
    delay_s, slope = refined(seen, *near)
    shifts = np.rint(seen.middles_s * slope * seen.rate).astype(int)
    total = summed(np.minimum(seen.rows, MOST_A_WINDOW), shifts)
    rms = 1.4826 * float(np.median(np.abs(total)))
    at = round(delay_s * seen.rate)
    summit = total[max(0, at - 2) : at + 3]
    peak = float(summit.max()) / rms if rms and summit.size else 0.0
    line = fitted(seen, delay_s, slope)
    found = SoundDelay(line.delay_s, line.error_s, peak, 1e6 * line.slope, 1e6 * line.slope_error)
    support = _support(seen, delay_s, slope)
    unheard = BRIEF if _in_all(seen, support) else UNHEARD
    if peak < LEAST_PEAK and support < LEAST_SUPPORT:
        return replace(found, refused=unheard)
    sharp = next(least for share, least in SHARP if support >= share)
    if _sharpness(total, at, seen.rate) < sharp:
        return replace(found, refused=unheard)
    total = summed(levelled(seen.rows), shifts)
    top = total[max(0, at - 2) : at + 3].max()
    apart = round(APART_S * seen.rate)
    total[max(0, at - apart) : at + apart] = 0
    return replace(found, refused=EVEN) if total.max() > ALONE * top else found


def _support(seen: Likeness, delay_s: float, slope: float) -> float:
    """Return the share of at least six windows that stand out along the line by themselves."""
    places = np.rint((delay_s + slope * seen.middles_s) * seen.rate).astype(int)
    index = np.clip(places[:, None] + np.arange(-2, 3), 0, seen.rows.shape[1] - 1)
    alone = np.take_along_axis(seen.rows, index, axis=1).max(axis=1) > STANDS_OUT
    return float(alone.sum()) / max(len(alone), LEAST_WINDOWS)


def _in_all(seen: Likeness, support: float) -> bool:
    """Return whether each of few windows stands out by itself, as beside a loudspeaker.

    In none of 30 takes of 2 s of claps with headphones they did (half "tune" of
    tests/simulate/rooms.py).
    """
    return FEWEST_WINDOWS <= len(seen.rows) <= round(support * LEAST_WINDOWS)


def _sharpness(total: Rows, at: int, rate: int) -> float:
    """Return how far the peak at ``at`` stands over what lies just before it.

    At a delay of less than a millisecond nothing lies before it, and all of it is sharp.
    """
    peak = float(total[max(0, at - 2) : at + 3].max(initial=0.0))
    before = total[max(0, at - round(BEFORE_S * rate)) : max(0, at - round(CLEAR_S * rate))]
    rest = 1.4826 * float(np.median(np.abs(before))) if before.size else 0.0
    return peak / rest if rest else np.inf
