"""The loudspeaker alone told from somebody who claps along."""

import numpy as np

from rhythmtrain.hearing.bleed.echoes import only_the_track

TRACK_S = tuple(
    np.cumsum([0.4, 0.5, 0.5, 0.25, 0.25, 0.5, 0.75, 0.5, 0.5, 0.25, 0.25, 0.5]).tolist()
)


def test_the_track_heard_one_delay_late_is_nobody_clapping() -> None:
    """Also where a sound or two of it went unheard and something else was heard."""
    rng = np.random.default_rng(1)
    late = [time + 0.083 + rng.uniform(-0.001, 0.001) for time in TRACK_S]
    assert only_the_track(late, TRACK_S)
    assert only_the_track(sorted([*late[3:], 2.217]), TRACK_S)


def test_a_steady_player_is_not_taken_for_the_track() -> None:
    """A hand that keeps the beat to 10 ms is steadier than most, and still no loudspeaker."""
    rng = np.random.default_rng(2)
    taken = sum(
        only_the_track([time + 0.06 + rng.normal(0, 0.010) for time in TRACK_S], TRACK_S)
        for _ in range(200)
    )
    assert taken <= 1


def test_too_few_sounds_prove_nothing() -> None:
    """Three claps may fall anywhere."""
    assert not only_the_track(TRACK_S[:3], TRACK_S)
    assert not only_the_track(TRACK_S, ())
