"""One word in one file: its name, reading it, and a person's own recordings.

A recording may have been made with anything: another rate, two channels, silence around the word,
softly.  It is cut, levelled and placed by the same rules as the supplied words.  The rule for the
beat point belongs to those who hear, so it is handed in.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.errors import FileError
from rhythmtrain.storage.folders import files_there
from rhythmtrain.storage.word_sound import Sound, levelled, trimmed

LONGEST_WORD_S = 5.0
# Below this there is only the noise of the recorder: 100 dB under full scale.
NOTHING_HEARD = 1e-5
ENDINGS = frozenset(soundfile.available_formats()) | {"OGA", "OPUS", "AIF"}

BeatPointRule = Callable[[NDArray[np.float64], int], float]


@dataclass(frozen=True, slots=True)
class OwnVoice:
    """A person's own recorded words: their folder, and the rule that finds a word's beat point."""

    folder: Path
    beat_point: BeatPointRule


def file_stem(key: str) -> str:
    """Return the name, without ending, of the file that holds ``key``; safe on every system."""
    return "and" if key == "&" else key.lower().replace(":", "-").replace(" ", "-")


def stems(key: str, text: str) -> tuple[str, ...]:
    """Return the names that a recording of ``key``, which says ``text``, may have, best first.

    A key with a colon names a syllable or letter, whose text alone would be taken for another's.
    """
    names = (key.casefold(), file_stem(key))
    return names if ":" in key else (*names, text.casefold())


def recordings(folder: Path) -> dict[str, Path]:
    """Return the sound files of ``folder`` by their names in small letters, without ending."""
    if not folder.is_dir():
        raise FileError(f"the folder of recorded words {folder} is not there: check the path")
    found: dict[str, Path] = {}
    for path in sorted(files_there(folder)):
        if path.suffix.lstrip(".").upper() not in ENDINGS:
            continue
        if (twin := found.setdefault(path.stem.casefold(), path)) is not path:
            raise FileError(f"{twin.name} and {path.name} are the same word: keep one in {folder}")
    return found


def own_word(path: Path, rule: BeatPointRule) -> tuple[Sound, int, float]:
    """Return a recorded word, cut and levelled, with its rate and its beat point in seconds."""
    sound, rate = read_word(path)
    if not np.isfinite(sound).all() or np.abs(sound).max(initial=0.0) < NOTHING_HEARD:
        raise FileError(f"no word can be heard in {path}: record it again")
    word = levelled(trimmed(sound, rate), rate)
    return word, rate, rule(word, rate)


def read_word(path: Path) -> tuple[Sound, int]:
    """Return the mono samples of a word's file and their rate; FileError when it does not read."""
    try:
        with soundfile.SoundFile(path) as file:
            if file.frames > LONGEST_WORD_S * file.samplerate:
                raise FileError(
                    f"{path} lasts more than {LONGEST_WORD_S:g} seconds: keep one word in each file"
                )
            return file.read(always_2d=True).mean(axis=1), file.samplerate
    except (soundfile.SoundFileError, OSError) as error:
        raise FileError(
            f"the spoken word {path} cannot be read: it is missing, damaged or not a sound file"
        ) from error
