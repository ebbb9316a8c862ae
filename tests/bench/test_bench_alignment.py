"""Known notes laid on recordings, against synctoolbox on the same recordings in the same run.

synctoolbox (Müller, Özer, Krause, Prätzlich & Driedger 2021) is an extra of its own, because it
brings numba and music21: ``pip install -e ".[compare]"``.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.simulate.mapping_trials import notes_known
from tests.simulate.performances import HELD_OUT, Performed, perform

pytestmark = pytest.mark.bench

SEEDS = tuple(range(HELD_OUT + 500, HELD_OUT + 506))
FRAMES_A_SECOND = 50
BEAT_S = 0.5
ENDS = {"before_s": 5.0, "applause_s": 10.0, "noise_db": -45.0}


def by_synctoolbox(performed: Performed) -> NDArray[np.float64]:
    """Return the beats that synctoolbox finds, as its example does: chroma and onset features."""
    pd = pytest.importorskip("pandas")
    pytest.importorskip("synctoolbox")
    from synctoolbox.dtw.mrmsdtw import sync_via_mrmsdtw  # noqa: PLC0415
    from synctoolbox.dtw.utils import make_path_strictly_monotonic  # noqa: PLC0415
    from synctoolbox.feature.chroma import pitch_to_chroma, quantize_chroma  # noqa: PLC0415
    from synctoolbox.feature.csv_tools import (  # noqa: PLC0415
        df_to_pitch_features,
        df_to_pitch_onset_features,
    )
    from synctoolbox.feature.dlnco import pitch_onset_features_to_DLNCO  # noqa: PLC0415
    from synctoolbox.feature.pitch import audio_to_pitch_features  # noqa: PLC0415
    from synctoolbox.feature.pitch_onset import audio_to_pitch_onset_features  # noqa: PLC0415

    rate, sound = performed.rate, performed.sound.astype(np.float64)
    piece = performed.piece
    table = pd.DataFrame(
        {
            "start": piece.onset * BEAT_S,
            "duration": piece.length * BEAT_S,
            "end": (piece.onset + piece.length) * BEAT_S,
            "pitch": piece.pitch.astype(int),
            "velocity": piece.loud,
            "instrument": "piano",
        }
    )
    heard = audio_to_pitch_features(sound, Fs=rate, feature_rate=FRAMES_A_SECOND)
    heard = quantize_chroma(f_chroma=pitch_to_chroma(f_pitch=heard))
    heard_onsets = pitch_onset_features_to_DLNCO(
        f_peaks=audio_to_pitch_onset_features(f_audio=sound, Fs=rate),
        feature_rate=FRAMES_A_SECOND,
        feature_sequence_length=heard.shape[1],
    )
    written = df_to_pitch_features(table, feature_rate=FRAMES_A_SECOND)
    written = quantize_chroma(f_chroma=pitch_to_chroma(f_pitch=written))
    written_onsets = pitch_onset_features_to_DLNCO(
        f_peaks=df_to_pitch_onset_features(table),
        feature_rate=FRAMES_A_SECOND,
        feature_sequence_length=written.shape[1],
    )
    path = sync_via_mrmsdtw(
        f_chroma1=written,
        f_onset1=written_onsets,
        f_chroma2=heard,
        f_onset2=heard_onsets,
        input_feature_rate=FRAMES_A_SECOND,
        step_weights=np.array([1.5, 1.5, 2.0]),
        threshold_rec=10**6,
    )
    path = make_path_strictly_monotonic(path) / FRAMES_A_SECOND
    beats: NDArray[np.float64] = np.interp(
        np.arange(performed.beats_s.size) * BEAT_S, path[0], path[1]
    )
    return beats


def _errors(performed: Performed) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    beats, truth = notes_known(performed)
    ours = np.array([beat.time_s for beat in beats]) - truth
    theirs = by_synctoolbox(performed)[: truth.size] - truth
    return np.abs(ours), np.abs(theirs)


@pytest.mark.parametrize("ends", [{}, ENDS], ids=["trimmed", "noise and applause"])
def test_known_notes_are_placed_better_than_by_synctoolbox(ends: dict[str, float]) -> None:
    """Median, 95th percentile and share within 70 ms, each at least as good."""
    both = [_errors(perform(seed, expressive=True, bars=32, **ends)) for seed in SEEDS]
    ours, theirs = (np.concatenate(part) for part in zip(*both, strict=True))
    for errors, name in ((ours, "rhythmtrain"), (theirs, "synctoolbox")):
        figures = 1000 * np.percentile(errors, (50, 95))
        print(name, figures.round(1), np.mean(errors < 0.07).round(3))  # noqa: T201
    assert np.median(ours) <= np.median(theirs)
    assert np.percentile(ours, 95) <= np.percentile(theirs, 95)
    assert np.mean(ours < 0.07) >= np.mean(theirs < 0.07)
