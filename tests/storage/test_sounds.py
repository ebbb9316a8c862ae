"""The spoken words: what is supplied, what a person brings, and what is refused."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.storage import sounds
from rhythmtrain.storage.places import drills_folder, samples_folder
from rhythmtrain.storage.sounds import languages, load_words, sayable, word_keys
from rhythmtrain.storage.word_files import OwnVoice, file_stem
from rhythmtrain.storage.word_sound import resampled, sounding_level
from tests.simulate.recogniser import DIGITS, understood

LANGUAGES = ("de", "en", "es", "fr", "nl")
SYLLABLES = ("&", "e", "a", "la", "li", "ta", *(f"takadimi:{s}" for s in ("ta", "ka", "di", "mi")))
WINDOWS_NAMES = {"con", "prn", "aux", "nul"} | {
    f"{p}{n}" for p in ("com", "lpt") for n in range(10)
}
MOST_BYTES = 6_000_000


def tone(rate: int, *, seconds: float = 0.3, gain: float = 0.1) -> NDArray[np.float64]:
    """Return a 500 Hz tone with a quick rise, as a stand-in for a recorded word."""
    time_s = np.arange(round(seconds * rate)) / rate
    return np.asarray(gain * np.minimum(time_s / 0.02, 1.0) * np.sin(2 * np.pi * 500 * time_s))


def own_voice(folder: Path) -> OwnVoice:
    """Return the voice of a person whose recordings are in ``folder``."""
    return OwnVoice(folder, beat_point)


def test_five_languages_can_be_spoken_and_say_the_same_keys() -> None:
    """A drill counted in German can be counted in Spanish."""
    assert languages() == LANGUAGES
    assert len({word_keys(language) for language in LANGUAGES}) == 1


def test_every_word_of_counting_is_there() -> None:
    """Bars of rest are counted to a hundred, and every counting system has its syllables."""
    keys = set(word_keys("en"))
    assert {str(number) for number in range(1, 101)} <= keys
    assert {"rest", "ready", "breathe", "bow", "listen", "answer", "trip", "let"} <= keys
    assert set(SYLLABLES) | {"letter", "letter:A", "letter:Z", "first time"} <= keys


def test_the_supplied_sounds_are_small() -> None:
    """Words, takes and recordings travel with the program and may not make it heavy."""
    folders = samples_folder(), drills_folder()
    files = [path for folder in folders for path in folder.rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in files) <= MOST_BYTES


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_supplied_word_is_sound_from_its_start_with_a_beat_inside(language: str) -> None:
    """A word with silence before it, or a beat outside it, would be said off the beat."""
    folder = samples_folder() / language
    table = tomllib.loads((folder / "words.toml").read_text(encoding="utf-8"))["words"]
    assert {path.name for path in folder.glob("*.flac")} == {e["file"] for e in table.values()}
    for key, (samples, beat_point_s) in load_words(language, word_keys(language)).items():
        peak = np.abs(samples).max()
        assert samples.dtype == np.float32
        assert samples.ndim == 1
        assert np.abs(samples[: round(0.005 * sounds.WORDS_RATE)]).max() > 0.003 * peak, key
        assert 0.0 < beat_point_s < len(samples) / sounds.WORDS_RATE, key
        assert table[key]["duration_s"] == pytest.approx(len(samples) / sounds.WORDS_RATE, abs=1e-6)
        assert peak <= 10 ** (-1 / 20) + 1e-3, key


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_word_is_louder_than_another(language: str) -> None:
    """A count in which some words jump out is tiring; the beat is the click's to stress."""
    words = load_words(language, word_keys(language))
    levels = [
        20 * np.log10(sounding_level(samples.astype(float), sounds.WORDS_RATE))
        for samples, _ in words.values()
    ]
    assert min(levels) > -20.5
    assert max(levels) < -19.5


@pytest.mark.parametrize("language", LANGUAGES)
def test_counting_syllables_end_within_a_sixteenth_at_160(language: str) -> None:
    """In "one e and a" at 160 each syllable has 94 ms before the beat of the next."""
    for key, (samples, beat_point_s) in load_words(language, SYLLABLES).items():
        assert len(samples) / sounds.WORDS_RATE - beat_point_s < 60 / 160 / 4, key


def test_only_the_words_asked_for_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A track that counts to four opens four files; the others may even be damaged."""
    folder = tmp_path / "en"
    folder.mkdir()
    soundfile.write(folder / "1.flac", tone(24_000), 24_000)
    (folder / "words.toml").write_text(
        "[words]\n"
        '"1" = { file = "1.flac", beat_point_s = 0.01, duration_s = 0.3, text = "one" }\n'
        '"2" = { file = "2.flac", beat_point_s = 0.01, duration_s = 0.3, text = "two" }\n',
        encoding="utf-8",
    )
    monkeypatch.setattr(sounds, "samples_folder", lambda: tmp_path)
    assert list(load_words("en", ["1", "1"])) == ["1"]
    with pytest.raises(FileError, match=r"2\.flac cannot be read"):
        load_words("en", ["2"])
    (folder / "words.toml").write_text("[wor", encoding="utf-8")
    with pytest.raises(FileError, match=r"words\.toml cannot be read: install rhythmtrain again"):
        load_words("en", ["1"])


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_words_come_at_the_rate_of_the_track(rate: int) -> None:
    """At another rate a word lasts as long, is as loud, and its beat lies at the same second."""
    for key in ("1", "6", "&"):
        samples, beat_point_s = load_words("en", [key])[key]
        other, same_beat_s = load_words("en", [key], rate=rate)[key]
        assert same_beat_s == beat_point_s
        assert len(other) / rate == pytest.approx(len(samples) / 24_000, abs=1 / 16_000)
        assert beat_point(other, rate) == pytest.approx(beat_point(samples, 24_000), abs=5e-4)


@given(
    rates=st.tuples(*[st.sampled_from([8_000, 11_025, 24_000, 44_100, 48_000, 96_000])] * 2),
    frequency=st.floats(200.0, 3_000.0),
)
def test_resampling_keeps_a_tone_where_it_was(rates: tuple[int, int], frequency: float) -> None:
    """Inside a word every wave crest stays at its second, whatever the two rates."""
    there = np.hanning(round(0.25 * rates[0])) * np.sin(
        2 * np.pi * frequency * np.arange(round(0.25 * rates[0])) / rates[0]
    )
    here_s = np.arange(round(0.25 * rates[1])) / rates[1]
    window = 0.5 - 0.5 * np.cos(2 * np.pi * here_s * rates[0] / (len(there) - 1))
    expected = window * np.sin(2 * np.pi * frequency * here_s)
    result = resampled(there, *rates)
    shorter = min(len(result), len(expected))
    assert np.abs(result[:shorter] - expected[:shorter]).max() < 2e-3


@pytest.mark.parametrize(
    ("language", "near"),
    [("eng", "en"), ("DE", "there are de, en, es, fr, nl"), ("klingon", "there are")],
)
def test_an_unknown_language_is_answered_with_those_there_are(language: str, near: str) -> None:
    """Whoever types a language that is missing learns what can be had."""
    with pytest.raises(RequestError, match=near):
        load_words(language, ["1"])


def test_an_unknown_word_is_answered_with_the_nearest() -> None:
    """A misspelt key names what was probably meant."""
    with pytest.raises(RequestError, match=r"no spoken word 'raedy'.*did you mean 'ready'"):
        load_words("en", ["raedy"])


@pytest.mark.parametrize("text", ["letter B", "letter b", "B"])
def test_a_rehearsal_letter_is_said_as_two_words(text: str) -> None:
    """A landmark "letter B" is heard whole, with the beat on "letter"."""
    parts = load_words("en", ["letter", "letter:B"])
    samples, beat_point_s = load_words("en", [text])[text]
    (letter, letter_beat_s), (b, _) = parts["letter"], parts["letter:B"]
    assert beat_point_s == letter_beat_s
    assert np.array_equal(samples[: len(letter)], letter)
    assert np.array_equal(samples[-len(b) :], b)
    assert len(samples) == len(letter) + round(0.04 * 24_000) + len(b)


def test_what_cannot_be_said_is_told_beforehand(tmp_path: Path) -> None:
    """A landmark in free words is left out of the count, unless someone has recorded it."""
    texts = ["1", "letter C", "piano has the tune"]
    assert sayable("en", texts) == {"1", "letter C"}
    soundfile.write(tmp_path / "Piano has the tune.wav", tone(24_000), 24_000)
    assert sayable("en", texts, voice=own_voice(tmp_path)) == set(texts)
    words = load_words("en", texts, voice=own_voice(tmp_path))
    assert len(words["piano has the tune"][0]) == pytest.approx(7_200, abs=500)


def test_every_key_has_a_file_name_that_every_system_can_store() -> None:
    """A teacher on Windows can save each word under its name."""
    stems = {key: file_stem(key) for key in word_keys("en")}
    assert len(set(stems.values())) == len(stems)
    for stem in stems.values():
        assert set(stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
        assert stem not in WINDOWS_NAMES


@pytest.mark.parametrize("name", ["1.wav", "one.wav", "ONE.WAV", "one.flac", "one.ogg"])
def test_a_recorded_word_replaces_the_supplied_one(tmp_path: Path, name: str) -> None:
    """A pupil hears the teacher's own "one", whichever way the file is named."""
    soundfile.write(tmp_path / name, tone(44_100), 44_100)
    words = load_words("en", ["1", "2"], voice=own_voice(tmp_path))
    supplied = load_words("en", ["1", "2"])
    assert len(words["1"][0]) == pytest.approx(0.3 * 24_000, abs=0.02 * 24_000)
    assert not np.array_equal(words["1"][0][:3_000], supplied["1"][0][:3_000])
    assert np.array_equal(words["2"][0], supplied["2"][0])


def test_a_recorded_word_is_cut_levelled_and_placed_like_the_supplied_ones(tmp_path: Path) -> None:
    """A soft stereo recording with silence before it can stand in one count with the others."""
    word = np.concatenate([np.zeros(22_050), tone(44_100, gain=0.02), np.zeros(4_410)])
    soundfile.write(tmp_path / "and.wav", np.stack([word, word], axis=1), 44_100, subtype="FLOAT")
    samples, beat_point_s = load_words("en", ["&"], rate=48_000, voice=own_voice(tmp_path))["&"]
    level = 20 * np.log10(sounding_level(samples.astype(float), 48_000))
    assert level == pytest.approx(-20.0, abs=0.2)
    assert len(samples) / 48_000 == pytest.approx(0.3, abs=0.02)
    assert beat_point_s == pytest.approx(beat_point(samples, 48_000), abs=5e-4)


def test_a_recording_with_a_knock_in_it_does_not_overload(tmp_path: Path) -> None:
    """A consonant that bangs into the microphone keeps the word softer, not distorted."""
    word = tone(24_000, gain=0.02)
    word[3_000] = 0.9
    soundfile.write(tmp_path / "1.wav", word, 24_000)
    samples, _ = load_words("en", ["1"], voice=own_voice(tmp_path))["1"]
    assert np.abs(samples).max() == pytest.approx(10 ** (-1 / 20), abs=1e-3)


def test_other_files_in_the_folder_of_recordings_are_left_alone(tmp_path: Path) -> None:
    """Notes and pictures beside the recordings do no harm."""
    soundfile.write(tmp_path / "takadimi-ka.wav", tone(24_000), 24_000)
    (tmp_path / "notes.txt").write_text("hello", encoding="utf-8")
    words = load_words("en", ["takadimi:ka"], voice=own_voice(tmp_path))
    assert len(words["takadimi:ka"][0]) == pytest.approx(7_200, abs=500)


def test_a_word_that_is_taken_away_meanwhile_is_said_by_the_supplied_voice(tmp_path: Path) -> None:
    """One page makes a track while another takes a word away: the track is made."""
    for name in ("one", "two"):
        soundfile.write(tmp_path / f"{name}.wav", tone(44_100), 44_100)

    def beat_point_and_gone(sound: NDArray[np.float64], rate: int) -> float:
        (tmp_path / "two.wav").unlink()
        return beat_point(sound, rate)

    own = load_words("en", ["1", "2"], voice=OwnVoice(tmp_path, beat_point_and_gone))
    supplied = load_words("en", ["1", "2"])
    assert not np.array_equal(own["1"][0], supplied["1"][0])
    assert np.array_equal(own["2"][0], supplied["2"][0])


def bad_folder(tmp_path: Path, kind: str) -> Path:
    """Return a folder of recordings with one thing wrong."""
    if kind == "missing":
        return tmp_path / "nowhere"
    if kind == "twins":
        soundfile.write(tmp_path / "one.wav", tone(8_000), 8_000)
        soundfile.write(tmp_path / "one.flac", tone(8_000), 8_000)
    elif kind == "damaged":
        (tmp_path / "one.wav").write_bytes(b"RIFF nothing")
    elif kind == "silent":
        soundfile.write(tmp_path / "one.wav", np.zeros(800), 8_000)
    elif kind == "no numbers":
        soundfile.write(tmp_path / "one.wav", np.full(800, np.nan), 8_000, subtype="FLOAT")
    elif kind == "long":
        soundfile.write(tmp_path / "one.wav", tone(8_000, seconds=6), 8_000)
    return tmp_path


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("missing", "is not there"),
        ("empty", 'no recorded words .* such as "1.wav"'),
        ("twins", r"one\.flac and one\.wav are the same word"),
        ("damaged", r"one\.wav cannot be read"),
        ("silent", r"no word can be heard in .*one\.wav"),
        ("no numbers", r"no word can be heard in .*one\.wav"),
        ("long", "more than 5 seconds"),
    ],
)
def test_a_recording_that_cannot_serve_is_named(tmp_path: Path, kind: str, words: str) -> None:
    """One sentence says which file, what is wrong, and what to do."""
    with pytest.raises(FileError, match=words):
        load_words("en", ["1"], voice=own_voice(bad_folder(tmp_path, kind)))


def counted(order: list[int], *, tempo: float, seed: int) -> NDArray[np.float64]:
    """Return digits said on the beat at 16 000 samples a second, dither at -50 dB in the gaps."""
    rate, beat_s = 16_000, 60.0 / tempo
    sound = np.random.default_rng(seed).normal(
        0.0, 10 ** (-50 / 20), round((len(order) + 2) * beat_s * rate)
    )
    words = load_words("en", [str(digit) for digit in order], rate=rate)
    for place, digit in enumerate(order):
        samples, beat_point_s = words[str(digit)]
        first = round(((place + 1) * beat_s - beat_point_s) * rate)
        sound[first : first + len(samples)] += samples
    return sound


@pytest.mark.parametrize("order", [[1, 2, 3, 4, 5, 6, 7, 8], [5, 2, 8, 1, 7, 4, 6, 3]])
def test_a_stranger_understands_the_english_digits_at_100(order: list[int]) -> None:
    """If a machine that knows nothing of the count hears "five", so does a tired player."""
    sound = counted(order, tempo=100.0, seed=4)
    assert understood(sound, len(order)) == [DIGITS[digit - 1] for digit in order]


@pytest.mark.long
@pytest.mark.parametrize("tempo", [60.0, 90.0, 120.0, 160.0])
def test_digits_in_any_order_are_understood_from_slow_to_quick(tempo: float) -> None:
    """Digits out of their usual order cannot be guessed; one slip in ninety-six is let pass."""
    shuffle = np.random.default_rng(11).permutation
    orders = [[int(digit) + 1 for digit in shuffle(8)] for _ in range(12)]
    right = sum(
        DIGITS[digit - 1] == heard
        for seed, order in enumerate(orders)
        for digit, heard in zip(
            order, understood(counted(order, tempo=tempo, seed=seed), 8), strict=False
        )
    )
    assert right >= 95
