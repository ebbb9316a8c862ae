"""The spoken words: the supplied voices, and a teacher's own in their place.

A voice is a folder with one sound file a word.  A supplied language has ``words.toml`` beside
them, which says for each *key* the file, the words said, and the beat point.  Keys are the same in
every language (``"1"``, ``"&"``, ``"ready"``, ``"takadimi:ka"``, ``"letter:B"``), so that what is to
be said is written down once.  Only the words asked for are read.
"""

import difflib
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict

import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.errors import FileError, RequestError, TakeError
from rhythmtrain.storage.places import samples_folder
from rhythmtrain.storage.word_sound import levelled, resampled, trimmed

WORDS_RATE = 24_000
LONGEST_WORD_S = 5.0
TABLE_NAME = "words.toml"

Samples32 = NDArray[np.float32]
BeatPointRule = Callable[[NDArray[np.float64], int], float]


@dataclass(frozen=True, slots=True)
class OwnVoice:
    """A person's own recorded words: their folder, and the rule that finds a word's beat point."""

    folder: Path
    beat_point: BeatPointRule


class _Entry(TypedDict):
    file: str
    text: str
    beat_point_s: float
    duration_s: float


def languages() -> tuple[str, ...]:
    """Return the codes of the languages that can be spoken, in alphabetical order."""
    return tuple(sorted(table.parent.name for table in samples_folder().glob(f"*/{TABLE_NAME}")))


def word_keys(language: str) -> tuple[str, ...]:
    """Return every key that can be said in ``language``, in the order of its table."""
    return tuple(_table(_language_folder(language)))


def load_words(
    language: str, keys: Iterable[str], *, rate: int = WORDS_RATE, voice: OwnVoice | None = None
) -> dict[str, tuple[Samples32, float]]:
    """Return, for each key asked for, its mono samples at ``rate`` and its beat point in seconds.

    The beat point counts from the word's first sample.  Words found in ``voice`` are taken from
    there, cut and levelled like the supplied ones; the others come from the supplied voice.
    Raises RequestError for a language or key that is not there, and FileError for a file that is
    missing or cannot be read.
    """
    folder = _language_folder(language)
    table = _table(folder)
    own = {} if voice is None else _recordings(voice.folder, table)
    words: dict[str, tuple[Samples32, float]] = {}
    for key in dict.fromkeys(keys):
        if key not in table:
            raise RequestError(_not_there("word", key, table))
        if voice is not None and key in own:
            sound, beat_point_s = _own_word(own[key], rate, voice.beat_point)
        else:
            heard, heard_rate = _read(folder / table[key]["file"])
            sound, beat_point_s = resampled(heard, heard_rate, rate), table[key]["beat_point_s"]
        words[key] = (sound.astype(np.float32), beat_point_s)
    return words


def file_stem(key: str) -> str:
    """Return the name, without ending, of the file that holds ``key``; safe on every system."""
    return "and" if key == "&" else key.lower().replace(":", "-").replace(" ", "-")


def _language_folder(language: str) -> Path:
    known = languages()
    if language not in known:
        raise RequestError(_not_there("language", language, known))
    return samples_folder() / language


def _table(folder: Path) -> dict[str, _Entry]:
    path = folder / TABLE_NAME
    try:
        words: dict[str, _Entry] = tomllib.loads(path.read_text(encoding="utf-8"))["words"]
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, KeyError) as error:
        raise FileError(
            f"the table of spoken words {path} cannot be read: install rhythmtrain again"
        ) from error
    return words


def _not_there(thing: str, wanted: str, known: Iterable[str]) -> str:
    names = list(known)
    near = difflib.get_close_matches(wanted, names, n=1, cutoff=0.4)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    listed = ", ".join(names[:12]) + (" …" if len(names) > 12 else "")  # noqa: PLR2004
    return f"no spoken {thing} {wanted!r}: there are {listed}{hint}"


def _recordings(folder: Path, table: dict[str, _Entry]) -> dict[str, Path]:
    """Return which file of ``folder`` says which key: by the key, its file name, or its text."""
    if not folder.is_dir():
        raise FileError(f"the folder of recorded words {folder} is not there: check the path")
    by_stem: dict[str, Path] = {}
    for path in sorted(folder.iterdir()):
        if path.suffix.lstrip(".").upper() not in _ENDINGS:
            continue
        if (twin := by_stem.setdefault(path.stem.casefold(), path)) is not path:
            raise FileError(f"{twin.name} and {path.name} are the same word: keep one in {folder}")
    found = {
        key: by_stem[stem]
        for key, entry in table.items()
        for stem in reversed(_stems(key, entry["text"]))
        if stem in by_stem
    }
    if not found:
        raise FileError(
            f"no recorded words in {folder}: name the files as the words, "
            'such as "1.wav" or "one.wav", "and.wav", "ready.wav"'
        )
    return found


def _stems(key: str, text: str) -> tuple[str, ...]:
    """Return the file stems that may hold ``key``, the plainest first."""
    stems = (key.casefold(), file_stem(key))
    return stems if ":" in key else (*stems, text.casefold())


_ENDINGS = frozenset(soundfile.available_formats()) | {"OGA", "OPUS", "AIF"}


def _own_word(path: Path, rate: int, rule: BeatPointRule) -> tuple[NDArray[np.float64], float]:
    sound, own_rate = _read(path)
    if not np.isfinite(sound).all() or not np.abs(sound).max(initial=0.0) > 0.0:
        raise FileError(f"no word can be heard in {path}: record it again")
    word = levelled(trimmed(sound, own_rate), own_rate)
    try:
        return resampled(word, own_rate, rate), rule(word, own_rate)
    except TakeError as error:
        raise FileError(f"no beat can be found in {path} ({error}): record it again") from error


def _read(path: Path) -> tuple[NDArray[np.float64], int]:
    """Return the mono samples of a file and their rate."""
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
