"""Flux over a floor: rises count, noise and vibrato hardly do."""

import dataclasses

import numpy as np
import pytest

from rhythmtrain.hearing.onsets.flux import (
    band_flux,
    excess,
    floor_factor,
    least_excess,
    least_flux,
    page_floor,
    peaks,
    usual_flux,
)
from rhythmtrain.hearing.onsets.kinds import KINDS

HANDS = KINDS["claps"]
EVEN = np.full(10, 0.1, np.float32)


@pytest.mark.parametrize("bins", [1, 4, 30])
def test_the_floor_of_noise_is_its_mean(bins: int) -> None:
    """The same noise has the same floor in narrow and in wide bands."""
    rng = np.random.default_rng(0)
    energies = rng.exponential(size=(20_000, 3, bins)).sum(axis=2).astype(np.float32)
    floor = page_floor(energies, floor_factor(np.full(3, bins)))
    assert floor == pytest.approx(bins, rel=0.05)


def test_the_floor_of_silence_is_not_zero() -> None:
    """A gated recording has a floor too, or every crumb would be infinitely loud."""
    assert (page_floor(np.zeros((100, 4), np.float32), np.ones(4, np.float32)) > 0).all()


def test_a_rise_in_every_band_is_told_in_decibels() -> None:
    """Far above the floor, ten times the energy is ten decibels."""
    energies = np.full((20, 10), 1e4, np.float32)
    energies[10:] = 1e5
    flux = band_flux(energies, np.ones(10, np.float32), HANDS, EVEN)
    assert flux.shape == (18,)
    assert flux.max() == pytest.approx(10, abs=0.01)
    assert np.flatnonzero(flux > 1).tolist() == [8, 9]


def test_what_lies_below_the_floor_counts_little() -> None:
    """The flicker of a quiet room is no onset."""
    energies = np.full((20, 10), 0.1, np.float32)
    energies[10:] = 1.0
    assert band_flux(energies, np.ones(10, np.float32), HANDS, EVEN).max() < 1


def test_a_partial_that_wanders_to_the_next_band_is_no_rise() -> None:
    """A violin's vibrato is one note."""
    energies = np.ones((20, 10), np.float32)
    energies[:10, 4] = 1e5
    energies[10:, 5] = 1e5
    floor = np.ones(10, np.float32)
    stiff = dataclasses.replace(HANDS, spread=0)
    assert band_flux(energies, floor, HANDS, EVEN).max() == 0
    assert band_flux(energies, floor, stiff, EVEN).max() > 3


def test_a_peak_tops_its_neighbours_once() -> None:
    """A rise that lasts two frames is one candidate, the first of them."""
    flux = np.zeros(40, np.float32)
    flux[[10, 11, 20, 30]] = [1.0, 1.0, 0.4, 2.0]
    assert peaks(flux, 0.5).tolist() == [10, 30]


def test_the_neighbourhood_raises_what_is_asked() -> None:
    """Among loud strokes the crumbs between them are not strokes."""
    calm = np.zeros(300, np.float32)
    busy = np.random.default_rng(1).exponential(1.0, 300).astype(np.float32)
    assert least_flux(usual_flux(calm), 0.0, HANDS) == HANDS.least_flux_db
    assert least_flux(usual_flux(calm), 50.0, HANDS) == pytest.approx(HANDS.share * 50)
    assert least_flux(usual_flux(busy), 1.0, HANDS) > least_flux(usual_flux(calm), 1.0, HANDS)


def test_one_slammed_door_does_not_hide_the_claps() -> None:
    """The second loudest page says how loud the playing is."""
    assert least_excess([1e-3, 1.0, 1e6], HANDS) == least_excess([1e-3, 1.0, 1.0], HANDS)
    assert least_excess([5.0], HANDS) == pytest.approx(5 * 10 ** (-HANDS.softest_db / 10))


def test_excess_counts_only_what_is_over_the_floor() -> None:
    """A loud hum under the claps is not their loudness."""
    energies = np.array([[4.0, 10.0], [4.0, 4.0]], np.float32)
    assert excess(energies, np.array([1.0, 1.0], np.float32)).tolist() == [6.0, 0.0]
