"""The delay of a loudspeaker's sound, found in what the microphone heard of the track."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from rhythmtrain.hearing.bleed.correlation import evenness
from rhythmtrain.hearing.bleed.delay import EVEN, measured_delay, sound_delay
from rhythmtrain.prompts.plan import Layer
from tests.simulate.plans import prompt
from tests.simulate.rooms import CASES, HALVES, mixed, recorded, rendered, scene_of
from tests.simulate.sounds import Maker, clap, grain_clap, soft_tap, tap

RATE = 44_100


def _track(rng: np.random.Generator, seconds: float = 6.0) -> NDArray[np.float32]:
    """Return words, roughly: noise in syllables over tones."""
    time = np.arange(round(seconds * RATE)) / RATE
    syllables = np.clip(np.sin(2 * np.pi * 2.3 * time + rng.uniform(0, 6)), 0, 1) ** 2
    sound = syllables * rng.standard_normal(len(time)) * 0.1
    return (sound + 0.05 * np.sin(2 * np.pi * 440 * time)).astype(np.float32)


def _room(track: NDArray[np.float32], late: int, rng: np.random.Generator) -> NDArray[np.float32]:
    tail = rng.standard_normal(8000) * 10 ** (-3 * np.arange(8000) / 8000) * 0.04
    tail[0] = 1.0
    wet = np.convolve(track, tail)[: len(track)]
    heard = np.concatenate([np.zeros(late), wet])[: len(track)]
    return (heard + 1e-3 * rng.standard_normal(len(track))).astype(np.float32)


@pytest.mark.parametrize("late", [0, 1, 523, 4410, 30_000])
def test_the_delay_is_found_within_a_tenth_of_a_millisecond(late: int) -> None:
    """In a ringing room with some noise; a wrong delay would call everybody late."""
    rng = np.random.default_rng(late)
    track = _track(rng)
    found = sound_delay(_room(track, late, rng), track, RATE)
    assert found is not None
    assert found.delay_s == pytest.approx(late / RATE, abs=1e-4)


def test_claps_over_the_track_do_not_move_it() -> None:
    """The player is louder than the loudspeaker."""
    rng = np.random.default_rng(3)
    track = _track(rng)
    heard = _room(track, 1000, rng)
    for at in range(20_000, len(heard) - 2000, 19_000):
        heard[at : at + 1500] += rng.standard_normal(1500) * np.exp(-np.arange(1500) / 200)
    found = sound_delay(heard, track, RATE)
    assert found is not None
    assert found.delay_s == pytest.approx(1000 / RATE, abs=1e-4)


@pytest.mark.parametrize("number", range(12))
def test_where_the_track_is_not_heard_nothing_is_claimed(number: int) -> None:
    """Headphones: the microphone hears the player alone."""
    rng = np.random.default_rng(100 + number)
    noise = (0.01 * rng.standard_normal(6 * RATE)).astype(np.float32)
    assert sound_delay(noise, _track(rng), RATE) is None


def test_silence_and_moments_tell_nothing() -> None:
    """Nothing to compare."""
    track = _track(np.random.default_rng(1))
    assert sound_delay(np.zeros_like(track), track, RATE) is None
    assert sound_delay(track[:1000], track, RATE) is None


def _worst_s(half: str, number: int, length_s: float) -> tuple[float, int]:
    """Return how wrong an accepted delay was at worst, and how many were accepted."""
    case = CASES[sorted(CASES)[number % len(CASES)]]
    scene = scene_of(half, case, 500 + number, length_s)
    worst_s, accepted = 0.0, 0
    for bleed_db in (0, -12, -24, -36):
        take = mixed(scene, case, bleed_db=bleed_db)
        found = sound_delay(take.heard, take.track, take.rate)
        if found is not None:
            accepted += 1
            worst_s = max(worst_s, abs(found.delay_s - take.delay_s))
    return worst_s, accepted


@pytest.mark.parametrize("half", HALVES)
@pytest.mark.parametrize("number", range(2))
def test_an_accepted_delay_is_right_in_every_room(half: str, number: int) -> None:
    """A wrong one would call everybody late; a faint loudspeaker is refused rather than guessed."""
    worst_s, accepted = _worst_s(half, number, 6.0 + 2 * number)
    assert worst_s < 0.001
    assert accepted >= 2


@pytest.mark.long
@pytest.mark.parametrize("half", HALVES)
def test_an_accepted_delay_is_right_in_hundreds_of_rooms(half: str) -> None:
    """The same in 320 takes of 6 to 20 seconds."""
    told = [_worst_s(half, number, (6.0, 10.0, 20.0)[number % 3]) for number in range(2, 42)]
    assert max(worst_s for worst_s, _ in told) < 0.001
    assert sum(accepted for _, accepted in told) >= 100


@pytest.mark.parametrize("number", range(2))
def test_clicks_alone_come_round_too_evenly(number: int) -> None:
    """One beat looks like the next: that is said, not guessed."""
    case = replace(CASES["still room, overload"], layers=("click",))
    take = recorded("held out", case, number, bleed_db=0, length_s=10.0)
    assert measured_delay(take.heard, take.track, take.rate).refused == EVEN
    assert evenness(take.track, take.rate) > 0.28


def _clapped_track() -> tuple[NDArray[np.float32], list[float]]:
    """Return a track that claps a syncopated rhythm between clicks and counts, and its claps."""
    beat_s = 60 / 43.2
    claps = [
        (2 + bar * 2 + place) * beat_s for bar in range(2) for place in (0, 0.25, 0.75, 1, 1.5)
    ]
    prompts = [prompt(at, Layer.CLAP, "note") for at in claps]
    for number in range(6):
        prompts.append(prompt(number * beat_s, Layer.CLICK, "beat"))
        prompts.append(prompt(number * beat_s, Layer.COUNT, str(number % 2 + 1)))
    track = rendered(prompts, 8.5, RATE, "en")
    return track, claps


@pytest.mark.parametrize("maker", [clap, grain_clap, tap, soft_tap])
def test_claps_heard_through_headphones_are_no_loudspeaker(maker: Maker) -> None:
    """Whoever claps what the track claps, always a little late, is not taken for the track itself.

    Else the player's own lateness would be the sound delay, and claps would be taken out as bleed.
    """
    track, claps = _clapped_track()
    for number in range(10):
        rng = np.random.default_rng((77, number))
        heard = rng.normal(0, 10 ** rng.uniform(-4, -2.5), len(track) + RATE).astype(np.float32)
        shift = rng.uniform(0, 0.6)
        for at in claps:
            one = (0.4 * maker(rng, RATE)).astype(np.float32)
            begin = round((at + shift + float(rng.normal(0, 0.012))) * RATE)
            heard[begin : begin + len(one)] += one
        assert measured_delay(heard, track, RATE).refused, number
