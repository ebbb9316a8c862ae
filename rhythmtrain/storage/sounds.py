"""The spoken words: the supplied voices, and a person's own in their place.

A voice is a folder with one sound file a word.  A supplied language has ``words.toml`` beside
them, which says for each *key* the file, the words said, and the beat point.  Keys are the same in
every language (``"1"``, ``"&"``, ``"ready"``, ``"takadimi:ka"``, ``"letter:B"``), so that what is to
be said is written down once.  Only the words asked for are read.
"""

import difflib
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.storage.places import samples_folder
from rhythmtrain.storage.word_files import OwnVoice, own_word, read_word, recordings, stems
from rhythmtrain.storage.word_sound import resampled

WORDS_RATE = 24_000
TABLE_NAME = "words.toml"
BETWEEN_WORDS_S = 0.04
# A rehearsal letter, "letter B" or "B" alone, is said as two words.
LETTER = re.compile(r"letter ([A-Za-z])|([A-Z])")

Word = tuple[NDArray[np.float32], float]


@dataclass(frozen=True, slots=True)
class KnownWords:
    """The words of a language, and whose they are.

    ``words`` are (key, words said, name of the person's own recording or None) in the order of the
    language's table; ``others`` the names of recordings of words that stand in no table, such as a
    landmark's.
    """

    words: tuple[tuple[str, str, str | None], ...]
    others: tuple[str, ...]


class _Entry(TypedDict):
    file: str
    text: str
    beat_point_s: float
    duration_s: float


@dataclass(frozen=True, slots=True)
class _Cupboard:
    """The words within reach: a language's table, and the recordings that go before it."""

    folder: Path
    table: dict[str, _Entry]
    own: dict[str, Path]
    voice: OwnVoice | None

    def recording(self, key: str) -> Path | None:
        """Return the person's own recording of ``key``, if there is one."""
        text = self.table[key]["text"] if key in self.table else key
        return next((self.own[stem] for stem in stems(key, text) if stem in self.own), None)

    def holds(self, key: str) -> bool:
        """Tell whether ``key`` can be said."""
        return key in self.table or bool(_letter(key)) or self.recording(key) is not None

    def word(self, key: str, rate: int) -> Word:
        """Return ``key`` at ``rate``, with its beat point."""
        own = self._own_word(key)
        if own is not None:
            sound, its_rate, beat_point_s = own
        elif key in self.table:
            entry = self.table[key]
            sound, its_rate = read_word(self.folder / entry["file"])
            beat_point_s = entry["beat_point_s"]
        else:
            return _joined([self.word(part, rate) for part in _letter(key)], rate)
        return resampled(sound, its_rate, rate).astype(np.float32), beat_point_s

    def _own_word(self, key: str) -> tuple[NDArray[np.float64], int, float] | None:
        """Return the person's own recording of ``key``, None where there is none any more."""
        path = self.recording(key)
        if path is None or self.voice is None:
            return None
        try:
            return own_word(path, self.voice.beat_point)
        except FileError:
            # Taken away at this moment, and there is a supplied one: that is said, as it is from now on.
            if path.is_file() or key not in self.table:
                raise
        return None


def languages() -> tuple[str, ...]:
    """Return the codes of the languages that can be spoken, in alphabetical order."""
    return tuple(sorted(table.parent.name for table in samples_folder().glob(f"*/{TABLE_NAME}")))


def word_keys(language: str) -> tuple[str, ...]:
    """Return every key that can be said in ``language``, in the order of its table."""
    return tuple(_cupboard(language, (), None).table)


def known_words(language: str, *, voice: OwnVoice | None = None) -> KnownWords:
    """Return what can be said in ``language``, and which of it ``voice`` has a recording of.

    Raises RequestError for a language that is not there, FileError for a folder that is not.
    """
    cupboard = _within_reach(language, voice)
    words = tuple(
        (key, entry["text"], None if (path := cupboard.recording(key)) is None else path.stem)
        for key, entry in cupboard.table.items()
    )
    used = {path for key in cupboard.table if (path := cupboard.recording(key)) is not None}
    others = (path.stem for path in cupboard.own.values() if path not in used)
    return KnownWords(words, tuple(others))


def sayable(
    language: str, texts: Iterable[str], *, voice: OwnVoice | None = None
) -> frozenset[str]:
    """Return those of ``texts`` that can be said: keys, rehearsal letters, a person's own words."""
    texts = tuple(texts)
    cupboard = _cupboard(language, texts, voice)
    return frozenset(text for text in texts if cupboard.holds(text))


def load_words(
    language: str, keys: Iterable[str], *, rate: int = WORDS_RATE, voice: OwnVoice | None = None
) -> dict[str, Word]:
    """Return, for each key asked for, its mono samples at ``rate`` and its beat point in seconds.

    The beat point counts from the word's first sample.  Words found in ``voice`` are taken from
    there, cut and levelled like the supplied ones; the others come from the supplied voice.
    Raises RequestError for a language or key that is not there, and FileError for a file that is
    missing or cannot be read.
    """
    wanted = tuple(dict.fromkeys(keys))
    cupboard = _cupboard(language, wanted, voice)
    for key in wanted:
        if not cupboard.holds(key):
            raise RequestError(_not_there("word", key, cupboard.table))
    return {key: cupboard.word(key, rate) for key in wanted}


def _cupboard(language: str, keys: Iterable[str], voice: OwnVoice | None) -> _Cupboard:
    cupboard = _within_reach(language, voice)
    if voice is not None and not any(map(cupboard.recording, [*keys, *cupboard.table])):
        raise FileError(
            f"no recorded words in {voice.folder}: name the files as the words, "
            'such as "1.wav" or "one.wav", "and.wav", "ready.wav"'
        )
    return cupboard


def _within_reach(language: str, voice: OwnVoice | None) -> _Cupboard:
    known = languages()
    if language not in known:
        raise RequestError(_not_there("language", language, known))
    folder = samples_folder() / language
    own = {} if voice is None else recordings(voice.folder)
    return _Cupboard(folder, _table(folder / TABLE_NAME), own, voice)


def _table(path: Path) -> dict[str, _Entry]:
    try:
        words: dict[str, _Entry] = tomllib.loads(path.read_text(encoding="utf-8"))["words"]
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, KeyError) as error:
        raise FileError(
            f"the table of spoken words {path} cannot be read: install rhythmtrain again"
        ) from error
    return words


def _letter(text: str) -> tuple[str, ...]:
    match = LETTER.fullmatch(text)
    return ("letter", f"letter:{(match[1] or match[2]).upper()}") if match else ()


def _joined(words: list[Word], rate: int) -> Word:
    """Return words said one after the other; the beat is the first one's."""
    gap = np.zeros(round(BETWEEN_WORDS_S * rate), dtype=np.float32)
    first, *others = words
    sounds = [first[0], *(part for sound, _ in others for part in (gap, sound))]
    return np.concatenate(sounds), first[1]


def _not_there(thing: str, wanted: str, known: Iterable[str]) -> str:
    names = list(known)
    near = difflib.get_close_matches(wanted, names, n=1, cutoff=0.4)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    listed = ", ".join(names[:12]) + (" …" if len(names) > 12 else "")  # noqa: PLR2004
    return f"no spoken {thing} {wanted!r}: there are {listed}{hint}"
