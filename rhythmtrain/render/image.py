"""The stereo image of what was stretched, held to that of the recording.

Overlapping windows turned by peaks cancel a little of what is not at a peak, and of the softer of
the two ears' differences most: the image grows narrower, or wider where the channels are opposed.
So for every step of the track two tables of power are kept, what the recording's windows bring to
it and what was laid down:

    C = (Σ l l, Σ l r; Σ l r, Σ r r).

Summed over half a second around, they say by how much level and likeness of the channels changed,
and the sound is mixed by the matrix that brings them back,

    M D M = C,   M = D⁻¹ # C,

the geometric mean of what was wanted and the inverse of what was laid down (Pusz and Woronowicz
1975): of all such matrices the one nearest to changing nothing.  Where nothing was turned the two
tables are the same, and nothing is mixed.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.mixer import STEREO, Sound

AROUND_S = 0.25
# Beside the power of both channels: less than 16 bits tell apart.
NEXT_TO_NOTHING = 1e-9
LEAST, MOST = 0.5, 2.0

Table = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Laid:
    """One step of stretched sound, shape (n, channels), and the table that was wanted for it.

    The table is None where the step tells nothing of the image.
    """

    sound: Sound
    wanted: Table | None


def table_of(left: Sound, right: Sound) -> Table:
    """Return the table (Σ l l, Σ l r, Σ r r) of two channels, by their last axis."""
    return np.stack(
        [
            np.einsum("...n,...n->...", *pair)
            for pair in ((left, left), (left, right), (right, right))
        ],
        axis=-1,
    ).astype(np.float64)


def imaged(steps: Iterator[Laid], step_s: float) -> Iterator[Sound]:
    """Yield the sound of ``steps``, each of ``step_s`` seconds, with the image that was wanted."""
    reach = max(round(AROUND_S / step_s), 1)
    waiting: deque[Sound] = deque()
    tables = np.zeros((2 * reach + 1, 6))
    mix = np.eye(STEREO, dtype=np.float32)
    for number, laid in enumerate(steps):
        if laid.sound.shape[1] != STEREO:
            yield laid.sound
            continue
        tables[number % len(tables)] = _both(laid)
        waiting.append(laid.sound)
        if len(waiting) > reach:
            before, mix = mix, _mix(tables)
            yield _mixed(waiting.popleft(), before, mix)
    for sound in waiting:
        before, mix = mix, _mix(tables)
        yield _mixed(sound, before, mix)


def _both(laid: Laid) -> Table:
    """Return what was wanted and what was laid down, one after the other."""
    if laid.wanted is None:
        return np.zeros(6)
    return np.concatenate((laid.wanted, table_of(*laid.sound.T)))


def _mix(tables: Table) -> Sound:
    """Return the matrix that brings what was laid down to what was wanted, in these steps."""
    ll, lr, rr, dll, dlr, drr = tables.sum(axis=0).tolist()
    least = NEXT_TO_NOTHING * (ll + rr + dll + drr)
    if least <= 0:
        return np.eye(STEREO, dtype=np.float32)
    ll, rr, dll, drr = ll + least, rr + least, dll + least, drr + least
    wanted, laid = sqrt(max(ll * rr - lr**2, 0.0)), sqrt(max(dll * drr - dlr**2, 0.0))
    if not (wanted > 0 and laid > 0):
        return np.eye(STEREO, dtype=np.float32)
    # The inverse of what was laid down, over the root of its determinant; so too what was wanted.
    added = np.array(
        [
            [drr / laid + ll / wanted, lr / wanted - dlr / laid],
            [lr / wanted - dlr / laid, dll / laid + rr / wanted],
        ]
    )
    length = sqrt(wanted / laid / (added[0, 0] * added[1, 1] - added[0, 1] ** 2))
    values, axes = np.linalg.eigh(length * added)
    mix: Sound = ((axes * np.clip(values, LEAST, MOST)) @ axes.T).astype(np.float32)
    return mix


def _mixed(sound: Sound, before: Sound, now: Sound) -> Sound:
    """Return ``sound`` mixed by a matrix that goes evenly from ``before`` to ``now``."""
    share: Sound = np.linspace(0, 1, len(sound), endpoint=False, dtype=np.float32)[:, None]
    first: Sound = sound @ before
    done: Sound = first + share * (sound @ (now - before))
    return done
