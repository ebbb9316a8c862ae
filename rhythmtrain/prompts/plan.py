"""The plan of a track: everything that should be heard, as data.

A prompt says what sounds (its layer and text) and when its *beat point* falls, in track time
(seconds from the first sample of the track).  Renderers turn a plan into sound or MIDI; tests
read it as it stands.
"""

from dataclasses import dataclass
from enum import StrEnum

from rhythmtrain.units import Seconds


class Layer(StrEnum):
    """What one can hear in a track."""

    TUNE = "tune"
    CLAP = "clap"
    CLICK = "click"
    COUNT = "count"
    CUE = "cue"
    ACCOMPANIMENT = "accompaniment"


@dataclass(frozen=True, slots=True)
class Prompt:
    """One thing heard.

    ``text`` is a word key of the spoken voice ("2", "&", "ready") in the count layer, and
    "downbeat", "beat" or "between" in the click layer; "note" elsewhere.  ``length_s`` is how
    long a tone sounds, 0 for strokes and words.  ``bar`` and ``count`` are those of the passage
    ("2&"), ``repeat`` counts the practising of the passage from 1 (0 in the count-in).
    """

    time_s: Seconds
    layer: Layer
    text: str
    bar: int
    count: str
    repeat: int
    length_s: float = 0.0
    accent: bool = False
    pitches: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Laid:
    """A piece of a recording in the track, heard in ``layer``.

    ``anchors`` are (second of the recording, track second), rising; ``rings`` where nothing of the
    recording follows its end, so that the last chord may die away.
    """

    layer: Layer
    anchors: tuple[tuple[float, float], ...]
    rings: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole track: prompts in order of time, with what a file's tags and MIDI need to know.

    ``tempi`` are (track second, quarters a minute) wherever the tempo changes, ``metres`` (track
    second, upper, lower) wherever the metre does, ``markers`` (track second, words) at landmarks
    and bars, ``entries_s`` the track seconds of the entries, on which no word may sound, ``laid`` the
    pieces of recordings, in order.
    """

    title: str
    tempo_words: str
    count_in_s: Seconds
    duration_s: Seconds
    prompts: tuple[Prompt, ...]
    tempi: tuple[tuple[float, float], ...]
    metres: tuple[tuple[float, int, int], ...]
    markers: tuple[tuple[float, str], ...] = ()
    entries_s: tuple[float, ...] = ()
    laid: tuple[Laid, ...] = ()
