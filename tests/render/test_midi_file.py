"""A plan as MIDI: read back by another library, and byte by byte against the standard."""

import struct
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import mido
import pytest
import symusic

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.render.midi import midi_bytes
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Passage, Place, TempoMark
from rhythmtrain.timing.timeline import Practice, lay_out
from rhythmtrain.units import Bpm
from tests.simulate.plans import plan, prompt

# Microseconds a quarter for tempi in quarters a minute (Standard MIDI Files 1.0, by its rule).
TEMPO_VALUES = {60: 1000000, 90: 666667, 96: 625000, 100: 600000, 120: 500000, 208: 288462}
# Delta times as the standard prints them (p. 3).
LENGTHS = {
    0x00: "00", 0x40: "40", 0x7F: "7f", 0x80: "8100", 0x2000: "c000", 0x3FFF: "ff7f",
    0x4000: "818000", 0x100000: "c08000", 0x1FFFFF: "ffff7f", 0x200000: "81808000",
}  # fmt: skip


def read(data: bytes) -> symusic.core.ScoreSecond:
    """Return the file as another library reads it, in seconds."""
    score: symusic.core.ScoreSecond = symusic.core.ScoreSecond.from_midi(data)
    return score


def track_named(data: bytes, name: str) -> symusic.core.TrackSecond:
    """Return one track by its name."""
    return next(track for track in read(data).tracks if track.name == name)


def onsets(data: bytes, name: str) -> list[float]:
    """Return the seconds at which the notes of a track begin, in order."""
    return sorted(float(note.time) for note in track_named(data, name).notes)


def some_of_everything() -> list[Prompt]:
    """Return a bar with all layers, off the grid on purpose."""
    return [
        prompt(0.0, Layer.CLICK, "downbeat"),
        prompt(0.0, Layer.COUNT, "1"),
        prompt(0.0, Layer.TUNE, "note", length_s=0.4, pitches=(67,)),
        prompt(0.2501, Layer.CLAP, "note", accent=True),
        prompt(0.25, Layer.CLICK, "between"),
        prompt(0.25, Layer.COUNT, "&"),
        prompt(0.3333, Layer.CUE, "note", length_s=0.5, pitches=(48, 55)),
        prompt(0.5, Layer.CLICK, "beat"),
        prompt(0.9, Layer.CUE, "note"),
        prompt(1.0, Layer.ACCOMPANIMENT, "note"),
    ]


def test_the_header_is_that_of_a_type_1_file() -> None:
    """Every program that reads MIDI reads this one."""
    data = midi_bytes(plan(some_of_everything(), 2.0))
    assert data[:8] == b"MThd\x00\x00\x00\x06"
    kind, tracks, division = struct.unpack(">HHH", data[8:14])
    assert (kind, tracks) == (1, 6)
    assert 480 <= division <= 32_767
    assert data.count(b"MTrk") == tracks
    assert data.count(b"\xff\x2f\x00") == tracks
    assert data.endswith(b"\xff\x2f\x00")


@pytest.mark.parametrize(("tempo", "us"), TEMPO_VALUES.items())
def test_a_tempo_is_written_in_the_bytes_of_the_standard(tempo: int, us: int) -> None:
    """120 quarters a minute is FF 51 03 07 A1 20, and it stands in the first track."""
    data = midi_bytes(plan([prompt(0.0)], 4.0, tempo=tempo))
    meta = b"\xff\x51\x03" + us.to_bytes(3, "big")
    assert data.count(b"\xff\x51\x03") == 1
    assert data.index(meta) < data.index(b"MTrk", 20)
    assert TEMPO_VALUES[120].to_bytes(3, "big").hex() == "07a120"


@pytest.mark.parametrize(
    ("metre", "meta"),
    [
        ((4, 4), "ff580404021808"),
        ((6, 8), "ff580406032408"),
        ((2, 2), "ff580402013008"),
        ((5, 8), "ff580405030c08"),
    ],
)
def test_a_metre_is_written_in_the_bytes_of_the_standard(metre: tuple[int, int], meta: str) -> None:
    """6/8 clicks in dotted quarters, 4/4 in quarters."""
    made = plan([prompt(0.0)], 2.0)
    changed = Plan(
        made.title, made.tempo_words, made.count_in_s, made.duration_s, made.prompts, made.tempi,
        ((0.0, *metre),),
    )  # fmt: skip
    assert bytes.fromhex(meta) in midi_bytes(changed)


@pytest.mark.parametrize(("ticks", "wanted"), LENGTHS.items())
def test_delta_times_are_the_standards_variable_lengths(ticks: int, wanted: str) -> None:
    """A click that many ticks in is preceded by the bytes that the standard prints."""
    data = midi_bytes(plan([prompt(ticks * 0.5 / 10_080)], ticks * 0.5 / 10_080 + 1))
    strike = bytes.fromhex(wanted) + b"\x99\x4d\x5a"
    assert strike in data
    name = b"\xff\x03\x05Click"
    assert data[data.index(name) + len(name) :].startswith(strike)


def test_notes_stand_on_the_channels_and_keys_of_general_midi() -> None:
    """Hand clap, wood blocks, side stick; clarinet for the tune and piano for the cue."""
    data = midi_bytes(plan(some_of_everything(), 2.0))
    keys = {
        name: [int(note.pitch) for note in track_named(data, name).notes]
        for name in ("Click", "Rhythm", "Tune")
    }
    assert keys == {"Click": [76, 77, 77], "Rhythm": [39], "Tune": [67]}
    assert track_named(data, "Rhythm").is_drum
    assert int(track_named(data, "Tune").program) == 71
    cues = [
        (track.is_drum, [int(n.pitch) for n in track.notes])
        for track in read(data).tracks
        if track.name == "Cue"
    ]
    assert sorted(cues) == [(False, [48, 55]), (True, [37])]


def test_louder_notes_are_told_apart() -> None:
    """Accents, downbeats, and clicks between the beats keep their weight in MIDI."""
    data = midi_bytes(plan([*some_of_everything(), prompt(1.0, Layer.CLAP, "note")], 2.0))
    assert [int(note.velocity) for note in track_named(data, "Rhythm").notes] == [115, 90]
    down, between, beat = (int(note.velocity) for note in track_named(data, "Click").notes)
    assert down > beat > between


def test_counts_are_lyrics_and_words_are_kept() -> None:
    """A notation program shows the count under the notes, the title and the landmarks."""
    data = midi_bytes(plan(some_of_everything(), 2.0))
    lyrics = [(float(each.time), each.text) for each in track_named(data, "Count").lyrics]
    assert lyrics == [(0.0, "1"), (pytest.approx(0.25, abs=1e-3), "&")]
    for meta in (b"\xff\x03\x0bTowpath Rag", b"\xff\x01\x0dquarter = 120", b"\xff\x06\x05bar 1"):
        assert meta in data


def test_a_title_in_any_language_is_kept() -> None:
    """Names are written in UTF-8."""
    made = plan([prompt(0.0)], 1.0)
    named = Plan("Übung №1", "♩ = 60", made.count_in_s, made.duration_s, made.prompts, (), ())
    assert "Übung №1".encode() in midi_bytes(named)


def test_onsets_are_read_back_where_they_were_planned() -> None:
    """Another library hears every clap within a millisecond, off the grid too, after ten minutes."""
    times = [n * 0.2503 + 1e-4 * (n % 17) for n in range(2400)]
    data = midi_bytes(plan([prompt(at, Layer.CLAP, "note") for at in times], 601.0, tempo=77.7))
    found = onsets(data, "Rhythm")
    assert len(found) == len(times)
    assert max(abs(a - b) for a, b in zip(found, times, strict=True)) <= 0.001


def test_a_gradual_tempo_is_read_back_within_a_millisecond() -> None:
    """Claps and clicks of a ritardando fall where the audio track has them."""
    made = slowing_down()
    data = midi_bytes(made)
    for name, layer in (("Rhythm", Layer.CLAP), ("Click", Layer.CLICK)):
        wanted = sorted(each.time_s for each in made.prompts if each.layer is layer)
        found = onsets(data, name)
        assert len(found) == len(wanted) > 8
        assert max(abs(a - b) for a, b in zip(found, wanted, strict=True)) <= 0.001
    assert len(read(data).tempos) > 4


def slowing_down() -> Plan:
    """Return four bars of 4/4 that go from 96 to 40."""
    metre = Metre.parse("4/4")
    places = tuple(Place(Fraction(n), Kind.PLAYED) for n in range(4))
    slower = TempoMark(Bpm(96), Bpm(40), 4)
    bars = tuple(
        Bar(n + 1, metre, places, Fraction(0), metre.length, tempo=None if n else slower)
        for n in range(4)
    )
    return plan_track(lay_out(Passage("Slowing", Bpm(96), bars), Practice(count_in=1)))


def test_a_repeated_note_is_let_go_before_it_is_struck_again() -> None:
    """No note hangs: one that would sound into the next of its key ends there."""
    prompts = [prompt(n * 0.5, Layer.TUNE, "note", length_s=0.9, pitches=(60,)) for n in range(4)]
    file = mido.MidiFile(file=BytesIO(midi_bytes(plan([*prompts, prompts[0]], 4.0))))
    sounding = 0
    for message in file.tracks[1]:
        if message.type in ("note_on", "note_off"):
            sounding += 1 if message.type == "note_on" else -1
            assert sounding in (0, 1)
    assert sounding == 0
    lengths = [float(n.duration) for n in track_named(midi_bytes(plan(prompts, 4.0)), "Tune").notes]
    assert lengths == pytest.approx([0.5, 0.5, 0.5, 0.9], abs=1e-3)


def test_an_empty_plan_is_a_file_all_the_same(tmp_path: Path) -> None:
    """With every layer taken away the tempo and the bars are still there."""
    path = tmp_path / "empty.mid"
    path.write_bytes(midi_bytes(plan([], 0.0)))
    assert len(mido.MidiFile(path).tracks) == 1


def test_a_click_of_no_known_kind_is_named() -> None:
    """A plan that is wrong says where."""
    with pytest.raises(RequestError, match="a click is downbeat, beat, between, got 'bell'"):
        midi_bytes(plan([prompt(0.0, Layer.CLICK, "bell")], 1.0))
