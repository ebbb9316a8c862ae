"""Make the spoken count words: one small FLAC file a word, and a table of beat points a language.

    python audio_samples/make_words.py            # every language
    python audio_samples/make_words.py en de      # these only
    python audio_samples/make_words.py --tables   # the beat points of the files that are there

English is said by ``hibari-tts`` (``pip install hibari-tts``: one natural voice inside the wheel),
the other languages by ``espeak-ng`` (Debian: ``apt install espeak-ng``), which runs as a program
of its own, afresh for each word, because only then is it repeatable.

Each word then goes the same way: 24 000 samples a second; silence cut from both ends with short
fades; counting syllables end soon after their beat so that sixteenths at 160 fit; the level of the
sounding parts (not the peak) brought to one value; 11 bits kept: what is dropped lies 51 dB below the
word, and two fifths of the space are saved; the beat point found by ``rhythmtrain.hearing.beat_point``.
"""

import argparse
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cache
from importlib import import_module
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.errors import MissingPartError, RhythmtrainError
from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.storage.sounds import TABLE_NAME, WORDS_RATE
from rhythmtrain.storage.word_files import file_stem
from rhythmtrain.storage.word_sound import LEVEL_DB, faded, levelled, resampled, trimmed

HERE = Path(__file__).parent
RATE = WORDS_RATE  # 24 000: the English engine's own, half of 48 000, and above all that espeak-ng says
STEP = 2**-10  # 11 bits with sign
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
TAKADIMI = ("ta", "ka", "di", "mi", "ki", "da", "va", "ti", "ma")
TA_TITI = ("ta", "ti", "ri", "tri", "o", "la", "syn", "co", "pa")
SYLLABLES = ("&", "e", "a", "la", "li", "ta", "trip", "let")
WORDS = (
    "rest", "ready", "breathe", "bow", "bar", "echo", "listen", "answer",
    "first time", "second time", "letter",
)  # fmt: skip
# How long a word may sound after its beat, and the fade that ends it: a sixteenth at 160 lasts
# 94 ms, a third of a beat at 120 lasts 167.
LONGEST_AFTER_BEAT_S = {"syllable": 0.085, "count": 0.32, "number": 0.9, "letter": 0.5, "word": 1.0}
TRIPLET_AFTER_BEAT_S = 0.14
CUT_FADE_S = 0.03

Sound = NDArray[np.float64]
Window = dict[str, float]


@dataclass(frozen=True, slots=True)
class Language:
    """One table of ``texts.toml``: who speaks, how fast, and what is said for each key."""

    code: str
    name: str
    engine: str
    voice: str
    pace: dict[str, float]
    text: dict[str, str]
    say: dict[str, str] = field(default_factory=dict)

    def words_of(self, key: str) -> str:
        """Return what is said for ``key``."""
        return self.text.get(key, key.rpartition(":")[2])


def keys() -> Iterator[tuple[str, str]]:
    """Yield every word key with its group, in the order of the tables."""
    yield from ((str(n), "count" if n <= 12 else "number") for n in range(1, 101))  # noqa: PLR2004
    yield from ((key, "syllable") for key in SYLLABLES)
    yield from ((f"takadimi:{syllable}", "syllable") for syllable in TAKADIMI)
    yield from ((f"ta-titi:{syllable}", "syllable") for syllable in TA_TITI)
    yield from ((key, "word") for key in WORDS)
    yield from ((f"letter:{letter}", "letter") for letter in LETTERS)


def make_language(language: Language, windows: dict[str, Window]) -> None:
    """Write every word of one language and its ``words.toml``; files of dropped words go.

    ``windows`` gives for some keys the part of the word in which its beat point is looked for.
    """
    folder = HERE / language.code
    folder.mkdir(exist_ok=True)
    speak = ENGINES[language.engine]
    names: dict[bytes, str] = {}
    files: dict[str, str] = {}
    for key, group in keys():
        say, pace = language.say.get(key, ""), language.pace[group]
        raw, rate = speak(language, language.words_of(key), say, pace)
        longest = TRIPLET_AFTER_BEAT_S if key in {"trip", "let"} else LONGEST_AFTER_BEAT_S[group]
        sound = shaped(raw, rate, longest)
        files[key] = name = names.setdefault(sound.tobytes(), f"{file_stem(key)}.flac")
        soundfile.write(folder / name, sound, RATE, subtype="PCM_16", compression_level=1.0)
    write_table(language, files, windows)
    for stray in folder.iterdir():
        if stray.name not in {TABLE_NAME, *names.values()}:
            stray.unlink()


def measure_language(language: Language, windows: dict[str, Window]) -> None:
    """Write ``words.toml`` again for the files that it names, which stay as they are."""
    table = tomllib.loads((HERE / language.code / TABLE_NAME).read_text(encoding="utf-8"))
    files = {key: entry["file"] for key, entry in table["words"].items()}
    write_table(language, files, windows)


def write_table(language: Language, files: dict[str, str], windows: dict[str, Window]) -> None:
    """Write the ``words.toml`` of a language whose words, by key, are in ``files``."""
    lines = [
        f'language = "{language.name}"',
        f'voice = "{language.engine}: {language.voice}"',
        f"rate = {RATE}",
        f"level_db = {LEVEL_DB}",
        "",
        "[words]",
    ]
    folder = HERE / language.code
    for key, name in files.items():
        sound, rate = soundfile.read(folder / name)
        point = beat_point(sound, rate, **windows.get(key, {}))
        lines.append(
            f'"{key}" = {{ file = "{name}", beat_point_s = {point:.6f}, '
            f'duration_s = {len(sound) / rate:.6f}, text = "{language.words_of(key)}" }}'
        )
    (folder / TABLE_NAME).write_text("\n".join([*lines, ""]), encoding="utf-8")


def shaped(raw: Sound, rate: int, longest_after_beat_s: float) -> Sound:
    """Return a word cut, faded, levelled and reduced to 11 bits at ``RATE``."""
    sound = trimmed(resampled(raw, rate, RATE), RATE)
    last = round((beat_point(sound, RATE) + longest_after_beat_s) * RATE)
    if last < len(sound):
        sound = faded(sound[:last], RATE, fade_out_s=CUT_FADE_S)
    return np.round(levelled(sound, RATE) / STEP) * STEP


def say_with_espeak(language: Language, text: str, say: str, pace: float) -> tuple[Sound, int]:
    """Return what espeak-ng says at ``pace`` words a minute, from a process of its own."""
    program = shutil.which("espeak-ng")
    if program is None:
        raise MissingPartError(
            f"{language.name} words are spoken by espeak-ng, which is not installed: "
            "type `sudo apt install espeak-ng` and try again"
        )
    command = [program, "-v", language.voice, "-s", f"{pace:g}", "--stdout"]
    done = subprocess.run(  # noqa: S603
        [*command, f"[[{say}]]" if say else text], check=True, capture_output=True
    )
    sound, rate = soundfile.read(BytesIO(done.stdout))
    return sound, rate


def say_with_hibari(language: Language, text: str, say: str, pace: float) -> tuple[Sound, int]:
    """Return what hibari's voice says at ``pace`` times its own speed; the same every time."""
    voice = _hibari(language.voice)
    phonemes = say or " ".join(voice.phonemize(text))
    return np.asarray(voice.from_phonemes(f"{phonemes}.", speed=pace, seed=0), float), 24_000


@cache
def _hibari(voice: str) -> Any:
    try:
        return import_module("hibari").Hibari(voice=voice)
    except ModuleNotFoundError as error:
        raise MissingPartError(
            "English words are spoken by hibari-tts, which is not installed: "
            "type `pip install hibari-tts` and try again"
        ) from error


Engine = Callable[[Language, str, str, float], tuple[Sound, int]]
ENGINES: dict[str, Engine] = {"espeak-ng": say_with_espeak, "hibari": say_with_hibari}


def windows_of(code: str) -> dict[str, Window]:
    """Return the ``from_s`` and ``to_s`` that ``overrides.toml`` sets for the keys of a language."""
    table = tomllib.loads((HERE / "overrides.toml").read_text(encoding="utf-8"))["override"]
    return {
        key: {side: entry[side] for side in ("from_s", "to_s") if side in entry}
        for entry in table
        if entry["language"] == code
        for key in entry["keys"]
    }


def main() -> None:
    """Make the languages named on the command line, or stop with one sentence."""
    tables = tomllib.loads((HERE / "texts.toml").read_text(encoding="utf-8"))
    parser = argparse.ArgumentParser(description="Make the spoken count words.")
    parser.add_argument("languages", nargs="*", metavar="LANGUAGE", help=", ".join(tables))
    parser.add_argument(
        "--tables", action="store_true", help="only measure the beat points of the files again"
    )
    wish = parser.parse_args()
    work = measure_language if wish.tables else make_language
    for code in wish.languages or tables:
        if code not in tables:
            parser.error(f"no language {code!r}; there are {', '.join(tables)}")
        try:
            work(Language(code, **tables[code]), windows_of(code))
        except RhythmtrainError as error:
            sys.exit(str(error))


if __name__ == "__main__":
    main()
