"""A person's own recorded words at the page: brought, told, taken away, counted with.

They lie in the user's folder, one folder a language, each named as the word it is of, so that the
folder is one that ``--voice`` takes.  A word that is not there is said by the supplied voice.
"""

import secrets
from pathlib import Path, PurePosixPath
from typing import Any

from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.sitting import Sitting, told_as
from rhythmtrain.storage.alone import alone_in
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.folders import made_folder, safe_name
from rhythmtrain.storage.recorded_sound import sound_between
from rhythmtrain.storage.recordings import AUDIO_ENDINGS, open_recording
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.settings import preferences
from rhythmtrain.storage.sounds import known_words, languages
from rhythmtrain.storage.word_files import ENDINGS, LONGEST_WORD_S, OwnVoice, own_word, recordings

VOICE = "voice"
MOST_WORDS = 500
# What a phone makes is decoded once, here.
DECODED = ".flac"
DECODED_RATE = 48_000
Document = dict[str, Any]


def voice_for(sitting: Sitting, language: str) -> Path | None:
    """Return the folder of the person's own words in ``language``, None for the supplied voice.

    It is None where the person wished so, and where no word of that language is there.
    """
    folder = _place(sitting, language)
    if not preferences().own_voice or language not in languages() or not folder.is_dir():
        return None
    known = known_words(language, voice=OwnVoice(folder, beat_point))
    return folder if any(own is not None for _, _, own in known.words) else None


def voice_told(sitting: Sitting) -> Document:
    """Return which words of the language that is set are the person's own, and which are not.

    Each of "words" has its "key", the "text" said, and "own": the name of its recording, None for
    the supplied voice.  "others" are recordings of words that no table has.
    """
    language = preferences().language
    known = known_words(language, voice=OwnVoice(_folder(sitting, language), beat_point))
    return {
        "language": language,
        "on": preferences().own_voice,
        "words": [{"key": key, "text": text, "own": own} for key, text, own in known.words],
        "others": list(known.others),
    }


def word_brought(sitting: Sitting, asked: Asked) -> Document:
    """Keep the recorded word whose bytes came, in place of an older one, and return its name.

    "file" is what it was called: "one.m4a" is the word "one".

    Raises:
        RequestError: no sound by its ending, no name, or too many words.
        FileError: no word can be heard in it, it is too long, or it does not read; it is not kept.
    """
    called = PurePosixPath(asked.text("file").replace("\\", "/"))
    ending, name = called.suffix.lower(), called.stem.strip(" .").casefold()
    if not name or ending not in AUDIO_ENDINGS | {f".{each.lower()}" for each in ENDINGS}:
        raise RequestError(
            f"{called.name[:80] or 'that'} is no recorded word: bring one sound for each word, named "
            "as the word, such as one.m4a or and.wav"
        )
    folder = _folder(sitting, preferences().language)
    stem = safe_name(name)
    before = recordings(folder)
    if stem not in before and len(before) >= MOST_WORDS:
        raise RequestError(f"a voice has at most {MOST_WORDS} words: take some away first")
    path = sitting.passing / f"{secrets.token_hex(8)}{ending}"
    try:
        write_bytes_safely(path, asked.data)
        word = _readable(path)
        own_word(word, beat_point)
        _keep(folder / f"{stem}{word.suffix}", word.read_bytes())
    except RhythmtrainError as error:
        raise told_as(error, path, Path(called.name)) from error
    finally:
        path.unlink(missing_ok=True)
        path.with_suffix(DECODED).unlink(missing_ok=True)
    return {"word": stem}


def word_gone(sitting: Sitting, asked: Asked) -> Document:
    """Take the recording "word" away for good, and return what there is now.

    Raises:
        RequestError: there is none of that name.
    """
    path = recordings(_folder(sitting, preferences().language)).get(asked.text("word"))
    if path is None:
        raise RequestError("that word is not among yours any more")
    # Another page may take it away at this moment: gone is gone.
    path.unlink(missing_ok=True)
    return voice_told(sitting)


def _keep(path: Path, data: bytes) -> None:
    """Keep the word ``data`` as the file ``path``, in place of one of another ending.

    Two pages may bring one word at once, in files of different kinds: there is room for one.
    """
    with alone_in(path.parent):
        before = recordings(path.parent).get(path.stem, path)
        if before != path:
            before.unlink(missing_ok=True)
        write_bytes_safely(path, data)


def _folder(sitting: Sitting, language: str) -> Path:
    return made_folder(_place(sitting, language))


def _place(sitting: Sitting, language: str) -> Path:
    return sitting.folders.passages.parent / VOICE / language


def _readable(path: Path) -> Path:
    """Return the word at ``path`` as a file that is read as a word: itself, or decoded."""
    if path.suffix.lstrip(".").upper() in ENDINGS:
        return path
    recording = open_recording(path)
    blocks = sound_between(recording, 0.0, LONGEST_WORD_S + 1, rate=DECODED_RATE)
    write_audio(path.with_suffix(DECODED), blocks, DECODED_RATE, title=path.stem, comment="")
    return path.with_suffix(DECODED)
