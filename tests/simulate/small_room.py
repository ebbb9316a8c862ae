"""A track that is never like itself, in a small room, at a low rate: for quick tests of bleed."""

import numpy as np
from scipy.signal import butter, sosfilt

RATE = 16_000


def uneven_track(seconds: float, seed: int = 4) -> np.ndarray:
    """Return bursts at uneven times, each another noise: no moment is like another."""
    rng = np.random.default_rng(seed)
    track = np.zeros(round(seconds * RATE), np.float32)
    for time_s in np.cumsum(rng.uniform(0.1, 0.35, round(9 * seconds))):
        at, length = round(time_s * RATE), 1600
        burst = rng.standard_normal(length) * np.exp(-np.arange(length) / 400)
        part = track[at : at + length]
        part += burst[: len(part)]
    return track


def heard_in_it(track: np.ndarray, delay: int = 900, noise: float = 1e-3) -> np.ndarray:
    """Return ``track`` through the room, ``delay`` samples later, with some noise."""
    rng = np.random.default_rng(5)
    room = 0.1 * rng.standard_normal(1500) * np.exp(-np.arange(1500) / 300)
    room[0] = 1.0
    heard = np.convolve(np.concatenate([np.zeros(delay), track]), room)[: len(track)]
    heard = sosfilt(butter(2, (200, 6000), "band", fs=RATE, output="sos"), heard)
    noisy: np.ndarray = 0.3 * heard + noise * rng.standard_normal(len(track))
    return noisy.astype(np.float32)
