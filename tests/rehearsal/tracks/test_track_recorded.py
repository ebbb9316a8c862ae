"""A track with its recorded accompaniment: slowed, on its mapped beats, with count and click."""

from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track

RATE = 44_100
DRILL = """
title = "Ferry Song"
metre = "2/4"
tempo = 60
rhythm = "1 2 | (1) & 2 | 1 (2) | (1 2)"
tune = "C5 D5 | E5 F5 | G5"
[accompaniment]
recording = "piano.wav"
beats = "piano.beats"
{more}
"""
# Two bars of introduction would be bars -1 and 0; a map begins at bar 0 at the earliest.
STEPS = (0.61, 0.55, 0.52, 0.6, 0.66, 0.58, 0.5, 0.54, 0.63)


def beat_times() -> list[float]:
    """Return the seconds of bars 0 to 4 of a breathing accompanist."""
    times = [1.0]
    for step in STEPS:
        times.append(round(times[-1] + step, 3))
    return times


def strike(sound: np.ndarray, second: float, rate: int) -> None:
    """Lay a struck string into ``sound``."""
    start = round(second * rate)
    n = np.arange(min(rate // 2, len(sound) - start))
    sound[start : start + len(n)] += (
        0.4 * np.exp(-n / (0.15 * rate)) * np.sin(2 * np.pi * 330 * n / rate)
    )


@pytest.fixture
def ferry(tmp_path: Path) -> Path:
    """Return a drill with a stereo recording of one chord on each beat, and its map."""
    times = beat_times()
    sound = np.zeros(int((times[-1] + 2) * RATE))
    for second in times:
        strike(sound, second, RATE)
    soundfile.write(tmp_path / "piano.wav", np.stack((sound, 0.8 * sound), axis=1), RATE)
    lines = [f"{second}\t{number // 2}.{1 + number % 2}" for number, second in enumerate(times)]
    (tmp_path / "piano.beats").write_text("\n".join(lines), encoding="utf-8")
    path = tmp_path / "ferry.toml"
    path.write_text(DRILL.format(more=""), encoding="utf-8")
    return path


def starts(sound: np.ndarray, at_s: list[float]) -> list[float]:
    """Return how late the sound around each of ``at_s`` begins to rise, in seconds."""
    found = []
    for second in at_s:
        first = round((second - 0.05) * RATE)
        near = np.abs(sound[first : first + round(0.1 * RATE)])
        found.append((first + int(np.argmax(near > 0.2 * near.max()))) / RATE - second)
    return found


def events(path: Path, out: Path, **wishes: object) -> list[tuple[str, float]]:
    """Return (layer, second) of every event of a track."""
    told = make_track(TrackWish(str(path), **wishes), out)  # type: ignore[arg-type]
    return [(event["layer"], event["time_s"]) for event in told.document["events"]]


@pytest.mark.parametrize("speed", [0.5, 0.8, 1.0])
def test_clicks_and_recording_fall_on_the_mapped_beats(
    ferry: Path, tmp_path: Path, speed: float
) -> None:
    """Whatever the accompanist does, at any speed."""
    out = tmp_path / "out.wav"
    mapped = [(second - beat_times()[0]) / speed for second in beat_times()]
    clicked = events(ferry, out, layers="accompaniment,click", speed=speed, lead_in=1)
    clicks = [second for layer, second in clicked if layer == "click"]
    assert clicks == pytest.approx(mapped, abs=1e-6)
    alone = tmp_path / "alone.wav"
    events(ferry, alone, layers="accompaniment", speed=speed, lead_in=1)
    sound = soundfile.read(alone)[0][:, 0]
    assert max(map(abs, starts(sound, mapped[2:-1]))) < 0.003


def test_half_speed_puts_every_event_at_twice_its_time(ferry: Path, tmp_path: Path) -> None:
    """Slow practice is the same music."""
    layers = "accompaniment,clap,click,count"
    full = events(ferry, tmp_path / "a.wav", layers=layers, repeats=2)
    half = events(ferry, tmp_path / "b.wav", layers=layers, repeats=2, speed=0.5)
    clicks = [second for layer, second in full if layer != "count"]
    slower = [second for layer, second in half if layer != "count"]
    assert slower == pytest.approx([2 * second for second in clicks], abs=1e-6)


def test_a_click_s_first_sample_is_its_mapped_beat(ferry: Path, tmp_path: Path) -> None:
    """Clicks are made after the recording was slowed, not slowed with it."""
    out, bare = tmp_path / "click.wav", tmp_path / "bare.wav"
    clicks = events(ferry, out, layers="accompaniment,click,count", speed=0.7)
    events(ferry, bare, layers="accompaniment,count", speed=0.7)
    with_clicks, without = soundfile.read(out)[0][:, 0], soundfile.read(bare)[0][:, 0]
    length = min(len(with_clicks), len(without))
    # The whole track may be softer by one factor: that of the moment before the fourth click.
    fourth = round([second for layer, second in clicks if layer == "click"][3] * RATE)
    tail = slice(fourth - RATE // 8, fourth - RATE // 50)
    softer = float(np.dot(with_clicks[tail], without[tail]) / np.dot(without[tail], without[tail]))
    apart = np.abs(with_clicks[:length] - softer * without[:length])
    for second in (second for layer, second in clicks if layer == "click"):
        first = round(second * RATE)
        assert apart[first : first + 3].max() > 1e-3
        assert apart[max(first - 300, 0) : first].max(initial=0) < 3e-4


def test_a_missing_introduction_is_counted_at_the_opening_tempo(
    ferry: Path, tmp_path: Path
) -> None:
    """The recording has one bar before the passage; three are wanted."""
    made = events(ferry, tmp_path / "a.wav", layers="accompaniment,click", lead_in=3)
    clicks = [second for layer, second in made if layer == "click"]
    bars = [second for layer, second in made if layer == "accompaniment"]
    assert len(clicks) == len(beat_times()) + 4
    assert bars[0] == pytest.approx(clicks[4])


def test_steady_makes_every_beat_alike(ferry: Path, tmp_path: Path) -> None:
    """For learning, before the accompanist's own breath is followed."""
    out = tmp_path / "a.wav"
    made = events(ferry, out, layers="accompaniment,click", steady=True, tempo=60, lead_in=1)
    clicks = [second for layer, second in made if layer == "click"]
    assert clicks == pytest.approx(list(np.arange(10.0)), abs=1e-6)
    bare = tmp_path / "b.wav"
    events(ferry, bare, layers="accompaniment", steady=True, tempo=60, lead_in=1)
    sound = soundfile.read(bare)[0][:, 0]
    assert max(map(abs, starts(sound, list(np.arange(2.0, 9.0))))) < 0.003


@pytest.mark.parametrize("speed", [0.6, 1.0])
def test_an_answer_sounds_over_the_bars_that_were_heard(
    ferry: Path, tmp_path: Path, speed: float
) -> None:
    """Clapped once with the piano, then the piano alone in the very same bars."""
    made = events(
        ferry, tmp_path / "a.wav", layers="accompaniment,clap", echo=1, lead_in=1, speed=speed
    )
    times = [*beat_times(), beat_times()[-1] + STEPS[-1]]
    order = [0, *(2 * number for number in (1, 1, 2, 2, 3, 3, 4, 4))]
    begins, at_s = [], 0.0
    for beat in order:
        begins.append(at_s)
        at_s += (times[beat + 2] - times[beat]) / speed
    bars = [second for layer, second in made if layer == "accompaniment"]
    assert bars == pytest.approx(begins, abs=1e-6)
    claps = [second for layer, second in made if layer == "clap"]
    heard_in = {sum(begin <= second + 1e-6 for begin in begins) - 1 for second in claps}
    assert heard_in == {1, 3, 5}
    sound = soundfile.read(tmp_path / "a.wav")[0][:, 0]
    beats = [
        begin + share
        for begin, beat in zip(begins[2::2], order[2::2], strict=True)
        for share in (0.0, (times[beat + 1] - times[beat]) / speed)
    ]
    assert max(map(abs, starts(sound, beats[:-1]))) < 0.004


def test_the_teacher_s_playing_is_heard_and_then_answered(ferry: Path, tmp_path: Path) -> None:
    """In echo practice the model sounds in the bars to listen to, and in no other."""
    model = '[model]\nrecording = "piano.wav"\nbeats = "piano.beats"'
    ferry.write_text(DRILL.format(more=model), encoding="utf-8")
    told = make_track(
        TrackWish(str(ferry), layers="tune,click", tempo=60, echo=2), tmp_path / "a.wav"
    )
    tune = [each["time_s"] for each in told.document["events"] if each["layer"] == "tune"]
    assert tune == pytest.approx([2.0, 4.0, 10.0, 12.0])


def test_the_teacher_s_playing_takes_the_place_of_the_tune(ferry: Path, tmp_path: Path) -> None:
    """Slowed to the tempo of the track, and silent where the help has faded."""
    model = '[model]\nrecording = "piano.wav"\nbeats = "piano.beats"'
    ferry.write_text(DRILL.format(more=model), encoding="utf-8")
    told = make_track(TrackWish(str(ferry), layers="tune,click", tempo=40), tmp_path / "a.wav")
    tune = [each["time_s"] for each in told.document["events"] if each["layer"] == "tune"]
    assert tune == pytest.approx([3.0, 6.0, 9.0, 12.0])
    faded = make_track(
        TrackWish(str(ferry), layers="tune,click", repeats=7, fade=True), tmp_path / "b.wav"
    )
    heard = {each["repeat"] for each in faded.document["events"] if each["layer"] == "tune"}
    assert heard == {1, 7}


def test_midi_keeps_the_written_tune_where_a_teacher_plays_it(ferry: Path, tmp_path: Path) -> None:
    """A MIDI file holds no recording: without its notes the tune would be silent."""
    model = '[model]\nrecording = "piano.wav"\nbeats = "piano.beats"'
    ferry.write_text(DRILL.format(more=model), encoding="utf-8")
    out = tmp_path / "a.mid"
    make_track(TrackWish(str(ferry), layers="tune,click"), out)
    messages = [message for track in mido.MidiFile(out).tracks for message in track]
    pitches = [m.note for m in messages if m.type == "note_on" and m.channel != 9 and m.velocity]
    assert pitches == [72, 74, 76, 77, 79]


def test_midi_follows_the_mapped_tempo_without_the_recording(ferry: Path, tmp_path: Path) -> None:
    """A notation program shows where the accompanist breathes."""
    out = tmp_path / "a.mid"
    events(ferry, out, layers="accompaniment,click", lead_in=1)
    tempi = [m.tempo for m in mido.MidiFile(out).tracks[0] if m.type == "set_tempo"]
    assert len(tempi) >= len(STEPS) - 1


def test_levels_are_by_loudness_and_no_peak_passes_the_ceiling(ferry: Path, tmp_path: Path) -> None:
    """A soft recording is as loud as a strong one."""
    import pyloudnorm  # noqa: PLC0415

    folder = tmp_path
    sound, _ = soundfile.read(folder / "piano.wav")
    levels = []
    for gain in (1.0, 0.05):
        soundfile.write(folder / "piano.wav", gain * sound, RATE, subtype="PCM_24")
        events(ferry, folder / "a.wav", layers="accompaniment", speed=0.75)
        made = soundfile.read(folder / "a.wav")[0]
        levels.append(pyloudnorm.Meter(RATE).integrated_loudness(made))
        assert np.abs(made).max() < 10 ** (-1 / 20)
    assert levels[0] == pytest.approx(-23, abs=1.5)
    assert levels[1] == pytest.approx(levels[0], abs=0.2)


@pytest.mark.parametrize("rate", [8000, 48_000, 192_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_any_rate_and_channels_fall_on_the_beats(
    ferry: Path, tmp_path: Path, rate: int, channels: int
) -> None:
    """A phone's 8 kHz and a studio's 192."""
    times = beat_times()
    sound = np.zeros(int((times[-1] + 2) * rate))
    for second in times:
        strike(sound, second, rate)
    soundfile.write(ferry.parent / "piano.wav", np.stack([sound] * channels, axis=1), rate)
    out = tmp_path / "a.wav"
    events(ferry, out, layers="accompaniment", speed=0.6, lead_in=1)
    mapped = [(second - times[0]) / 0.6 for second in times]
    assert max(map(abs, starts(soundfile.read(out)[0][:, 1], mapped[2:-1]))) < 0.004


def test_the_tempo_told_is_the_recording_s_own(ferry: Path, tmp_path: Path) -> None:
    """Not the written one, which the accompanist did not play."""
    told = make_track(
        TrackWish(str(ferry), layers="accompaniment,click", speed=0.5), tmp_path / "a.wav"
    )
    times = beat_times()
    # The last beat lasts as long as the one before it.
    mean = 60 * 8 / (times[9] + STEPS[-1] - times[2]) / 2
    assert told.text.startswith(f"Ferry Song: quarter = {round(mean, 1):g}")


def test_a_dead_channel_is_heard_in_both_ears(ferry: Path, tmp_path: Path) -> None:
    """A cable that had come loose."""
    sound, _ = soundfile.read(ferry.parent / "piano.wav")
    sound[:, 0] = 0
    soundfile.write(ferry.parent / "piano.wav", sound, RATE)
    events(ferry, tmp_path / "a.wav", layers="accompaniment", speed=0.9)
    made = soundfile.read(tmp_path / "a.wav")[0]
    np.testing.assert_array_equal(made[:, 0], made[:, 1])
    assert np.abs(made).max() > 0.05


def test_silence_where_the_passage_is_is_said(ferry: Path, tmp_path: Path) -> None:
    """Another file, or the wrong track of a session."""
    soundfile.write(ferry.parent / "piano.wav", np.zeros((10 * RATE, 2)), RATE)
    with pytest.raises(TakeError, match=r"is silent from .* is it the right recording"):
        make_track(TrackWish(str(ferry), layers="accompaniment"), tmp_path / "a.wav")


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"layers": "accompaniment", "speed": 0.2}, "0.3 to 1.5 times as fast"),
        ({"layers": "click", "steady": True}, "add accompaniment to .*layers"),
        ({"layers": "accompaniment", "speed": 0.5, "tempo": 60.0}, "not both"),
        ({"layers": "accompaniment,click", "echo": 1}, "add clap or tune to .*layers"),
        ({"layers": "accompaniment", "lead_in": -1}, "lead-in must be 0 to 999 bars, got -1"),
    ],
)
def test_wishes_that_do_not_go_together_are_one_sentence(
    ferry: Path, tmp_path: Path, wishes: dict[str, object], words: str
) -> None:
    """With what to type instead."""
    with pytest.raises(RequestError, match=words):
        make_track(TrackWish(str(ferry), **wishes), tmp_path / "a.wav")  # type: ignore[arg-type]


def test_a_passage_without_a_recording_says_how_to_give_one(rag: Path, tmp_path: Path) -> None:
    """The option and the file it wants."""
    with pytest.raises(RequestError, match="give-recording"):
        make_track(TrackWish(str(rag), layers="accompaniment,click"), tmp_path / "a.wav")
