"""Where the beat of a spoken word or syllable lies.

A word is not heard at its first sample: counted words whose files start evenly sound uneven,
"eight" rushed and "six" late (Morton, Marcus & Frankish 1976).  What is heard as *the moment* lies
near the rise of the vowel.  The rule kept here finds it from the sound alone:

1. keep 250 to 1500 Hz, where the first formant of a vowel is strong and hiss and rumble are not;
2. rectify, and smooth with a 40 Hz low-pass: the rise and fall of the syllables;
3. the beat point is where this envelope first crosses half of its maximum.

Both filters are zero-phase (the squared magnitude of a second-order Butterworth filter, applied to
the spectrum of the zero-padded sound), so neither shifts the answer.  Rectifying makes overtones,
so the sound is first brought to ``ENVELOPE_RATE`` or more: folded overtones would move the answer
by some samples with the rate of the file.  No published value in milliseconds stands behind the
rule; what holds, and is tested, is that a click lies at its own place, that a slower attack lies
later, and that neither loudness nor the rate of the file makes a difference.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import TakeError
from rhythmtrain.units import samples_at

LOW_HZ = 250.0
HIGH_HZ = 1500.0
ENVELOPE_HZ = 40.0
SHARE_OF_MAXIMUM = 0.5
PADDING_S = 0.1
ENVELOPE_RATE = 192_000

Sound = NDArray[np.float32] | NDArray[np.float64]


def beat_point(sound: Sound, rate: int, *, from_s: float = 0.0, to_s: float | None = None) -> float:
    """Return the seconds from the first sample of ``sound`` to the beat heard in it.

    ``sound`` is mono, shape ``(n,)``, at ``rate`` samples a second.  The answer lies within the
    sound and depends neither on its level nor on ``rate``.  ``from_s`` and ``to_s`` limit the part
    that is looked at, for a word whose stressed syllable is not its loudest.  Raises TakeError for
    a sound, or part, in which nothing is heard (empty, silent, or with values that are not numbers).
    """
    end = len(sound) if to_s is None else samples_at(to_s, rate)
    if not np.any(sound[samples_at(from_s, rate) : end]):
        raise TakeError("no beat can be found in a sound that is empty or silent")
    envelope, fine_rate = vowel_envelope(sound, rate)
    first = samples_at(from_s, fine_rate)
    last = len(envelope) if to_s is None else samples_at(to_s, fine_rate)
    looked_at = envelope[first:last]
    half = SHARE_OF_MAXIMUM * float(looked_at.max())
    after = int(np.argmax(looked_at >= half))
    if after == 0:
        return first / fine_rate
    before = float(looked_at[after - 1])
    share = (half - before) / (float(looked_at[after]) - before)
    return (first + after - 1 + share) / fine_rate


def vowel_envelope(sound: Sound, rate: int) -> tuple[NDArray[np.float64], int]:
    """Return the smoothed level of the vowels in ``sound``, never below 0, and its own rate."""
    samples = np.asarray(sound, dtype=np.float64)
    if not np.isfinite(samples).all():
        raise TakeError("no beat can be found in a sound with values that are not numbers")
    times = -(-ENVELOPE_RATE // rate)
    padding = round(PADDING_S * rate)
    padded = np.pad(samples, padding)
    length = len(padded) * times
    hertz = np.fft.rfftfreq(len(padded), 1.0 / rate)
    band = _lowpass(hertz, HIGH_HZ) * (1.0 - _lowpass(hertz, LOW_HZ))
    vowels = np.abs(np.fft.irfft(np.fft.rfft(padded) * band, length)) * times
    fine = np.fft.rfftfreq(length, 1.0 / (rate * times))
    smooth = np.fft.irfft(np.fft.rfft(vowels) * _lowpass(fine, ENVELOPE_HZ), length)
    inside = slice(padding * times, (padding + len(samples)) * times)
    return np.maximum(smooth[inside], 0.0), rate * times


def _lowpass(hertz: NDArray[np.floating], corner: float) -> NDArray[np.float64]:
    """Return the squared magnitude of a second-order Butterworth low-pass: ½ at the corner."""
    return np.asarray(1.0 / (1.0 + (hertz / corner) ** 4), dtype=np.float64)
