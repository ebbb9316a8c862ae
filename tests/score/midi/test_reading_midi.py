"""Reading MIDI files as they are in the wild: the right notes, or one line."""

import io
import struct
from fractions import Fraction
from typing import Any

import mido
import numpy as np
import pytest
import symusic
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import FileError, RhythmtrainError
from rhythmtrain.score.midi.file import MidiFile, read_midi_file
from tests.simulate.midi_bytes import meta, midi, note, notes, number, tempo, track

QUARTERS = [0.0, 0.5, 1.0, 1.5]
WHOLE = track(notes(4))


def read(data: bytes) -> MidiFile:
    """Return the file under its test name."""
    return read_midi_file(data, name="piece.mid")


def seconds(file: MidiFile) -> list[float]:
    """Return the second at which each note of the file begins, in the order of the tracks."""
    return [
        float(file.clock(index).second(each.tick))
        for index, row in enumerate(file.tracks)
        for each in row.notes
    ]


HOSTILE: dict[str, tuple[bytes, str]] = {
    "whole": (midi([WHOLE]), ""),
    "type 0": (midi([WHOLE], kind=0), ""),
    "type 2": (midi([WHOLE], kind=2), ""),
    "type 7": (midi([WHOLE], kind=7), "its type is 7"),
    "header longer": (
        b"MThd" + struct.pack(">IHHH", 8, 1, 1, 480) + b"\0\0" + WHOLE,
        "",
    ),
    "riff": (b"RIFF\0\0\0\0RMIDdata\0\0\0\0" + midi([WHOLE]) + b"LIST\4\0\0\0junk", ""),
    "before": (b"\0" * 128 + midi([WHOLE]), ""),
    "zeros after": (midi([WHOLE]) + b"\0" * 9, ""),
    "rubbish after": (midi([WHOLE]) + b"\x9a\x00rest of something else", ""),
    "alien chunk first": (midi([b"XFIH\0\0\0\4abcd" + WHOLE], says=1), ""),
    "alien chunk last": (midi([WHOLE + b"XFKM\0\0\0\2ab"], says=1), ""),
    "promises more tracks": (midi([WHOLE], says=9), "promises: 9; that are there: 1"),
    "promises none": (midi([WHOLE], says=0), "promises: 0; that are there: 1"),
    "length too short": (midi([track(notes(4), says=5)]), "not as long as it says"),
    "length too long": (midi([track(notes(4), says=9000)]), "not as long as it says"),
    "length of zero": (midi([track(notes(4), says=0)]), "not as long as it says"),
    "no end": (midi([track(notes(4), end=b"")]), "track 1 has no end"),
    "cut in an event": (midi([WHOLE])[:-6], "track 1 is damaged"),
    "key signature of 9 sharps": (midi([track(meta(0x59, b"\x09\x00") + notes(4))]), ""),
    "key signature of one byte": (midi([track(meta(0x59, b"\x02") + notes(4))]), ""),
    "metre 0/4": (midi([track(meta(0x58, b"\0\2\x18\x08") + notes(4))]), "a time signature"),
    "metre 4/2^200": (midi([track(meta(0x58, b"\4\xc8\x18\x08") + notes(4))]), "a time signature"),
    "metre of 1 byte": (midi([track(meta(0x58, b"\4") + notes(4))]), "a time signature"),
    "tempo 0": (midi([track(tempo(0) + notes(4))]), "a tempo at tick 0"),
    "tempo of 2 bytes": (midi([track(meta(0x51, b"\1\2") + notes(4))]), "a tempo at tick 0"),
    "unknown meta": (midi([track(meta(0x7E, b"abc") + notes(4))]), ""),
    "sysex": (midi([track(b"\0\xf0\x03\x01\x02\xf7" + notes(4))]), ""),
    "clock bytes": (midi([track(b"\0\xf8\0\xfe" + notes(4))]), ""),
    "channel 16 of everything": (
        midi([track(b"\0\xaf\1\2\0\xbf\1\2\0\xcf\1\0\xdf\1\0\xef\1\2" + notes(4))]),
        "",
    ),
}


@pytest.mark.parametrize(("data", "warning"), HOSTILE.values(), ids=HOSTILE)
def test_files_in_the_wild_give_their_notes(data: bytes, warning: str) -> None:
    """A player cannot mend a file: what is whole in it is read, and what was wrong is said."""
    file = read(data)
    assert seconds(file) == QUARTERS
    said = "; ".join(file.warnings)
    assert (warning in said) if warning else not said


REFUSED: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "is not a MIDI file"),
    "text": (b"1 2 & | 1 2", "is not a MIDI file"),
    "cut header": (b"MThd\0\0\0\6\0", "is cut off inside its header"),
    "no track": (midi([]), "no track in it"),
    "division 0": (midi([WHOLE], division=0), "0 ticks to a quarter"),
    "12 frames": (midi([WHOLE], division=(256 - 12) << 8 | 40), "12 frames a second"),
    "frames of no ticks": (midi([WHOLE], division=(256 - 25) << 8), "25 frames a second of 0"),
    "many tracks": (midi([track(b"")] * 1001), "1001 tracks"),
    "huge": (b"MThd" + b"\0" * 5_000_001, "larger than 5 MB"),
    "no music": (
        midi([track(b"\0\x90\x3c\x40" + b"\0\x3d\x40\0\x3d\0" * 100_001)]),
        "more than 100000",
    ),
}


@pytest.mark.parametrize(("data", "words"), REFUSED.values(), ids=REFUSED)
def test_what_has_no_times_is_refused_in_one_line(data: bytes, words: str) -> None:
    """No traceback, and no invented times."""
    with pytest.raises(FileError, match=words) as caught:
        read(data)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(("frames", "rate"), [(24, 24), (25, 25), (29, 30000 / 1001), (30, 30)])
def test_ticks_may_divide_the_second(frames: int, rate: float) -> None:
    """SMPTE division: tempo events do not move a note."""
    file = read(
        midi([track(tempo(250_000) + notes(4, length=80))], division=(256 - frames) << 8 | 40)
    )
    assert seconds(file) == pytest.approx([2 * index / rate for index in range(4)])


def test_tempo_may_stand_in_any_track() -> None:
    """Some programs write it into the player's own part: the others follow all the same."""
    file = read(midi([track(notes(4)), track(tempo(1_000_000, after=960) + tempo(1_000_000))]))
    assert seconds(file) == [0.0, 0.5, 1.0, 2.0]


def test_the_last_of_two_tempi_at_one_place_counts() -> None:
    """The first was overwritten by hand."""
    assert seconds(read(midi([track(tempo(1) + tempo(1_000_000) + notes(2))]))) == [0.0, 1.0]


def test_pieces_of_their_own_keep_their_own_tempo() -> None:
    """Type 2: each track is a sequence by itself, and begins at its own zero."""
    file = read(midi([track(tempo(1_000_000) + notes(2)), track(notes(2))], kind=2))
    assert seconds(file) == [0.0, 1.0, 0.0, 0.5]


def test_running_status_goes_on_over_meta_and_system_events() -> None:
    """The standard ends it there, and many writers do not know."""
    body = (
        b"\0\x90\x3c\x40" + meta(0x06, b"A") + b"\x83\x60\x3c\0" + b"\0\xf0\x01\xf7" + b"\0\x3e\x40"
    )
    assert seconds(read(midi([track(body)]))) == [0.0, 0.5]


def test_a_strength_that_is_too_large_does_not_lose_the_track() -> None:
    """Some writers let it run past 127; everything else in the track is in its place."""
    body = b"\0\x90\x3c\xc0" + b"\x83\x60\x80\x3c\x40" + note(62)
    assert seconds(read(midi([track(body)]))) == [0.0, 0.5]


def test_what_comes_before_damage_is_kept() -> None:
    """Half a track is worth having, and it is said that it is half."""
    file = read(midi([track(notes(2) + b"\0\x3c\x90\x3c" + notes(2))]))
    assert seconds(file) == [0.0, 0.5]
    assert "what comes before is kept" in file.warnings[0]


def test_a_note_never_ended_lasts_as_long_as_its_track() -> None:
    """And one struck again ends there."""
    body = b"\0\x90\x3c\x40" + b"\x83\x60\x90\x3c\x40" + meta(0x06, b"x", after=480)
    first, second = read(midi([track(body)])).tracks[0].notes
    assert (first.end_tick, second.end_tick) == (480, 960)


def test_two_notes_alike_at_one_tick_are_one() -> None:
    """A doubled event is not a second note of no length."""
    body = b"\0\x90\x3c\x40" + b"\0\x90\x3c\x40" + b"\x83\x60\x80\x3c\0"
    (only,) = read(midi([track(body)])).tracks[0].notes
    assert only.end_tick == 480


def test_names_and_markers_are_one_printable_line() -> None:
    """What a file says is printed on a terminal."""
    body = meta(0x03, b"Klari\x1b[31mnette\n\xe4") + meta(0x06, "Schluß".encode()) + notes(1)
    (row,) = read(midi([track(body)])).tracks
    assert row.name == "Klari[31mnette ä"
    assert row.markers == ((0, "Schluß"),)


EVENTS = st.lists(
    st.tuples(
        st.integers(0, 2000), st.integers(30, 90), st.integers(1, 960), st.sampled_from([0, 1, 9])
    ),
    min_size=1,
    max_size=30,
)
TEMPI = st.lists(st.tuples(st.integers(0, 3000), st.integers(100_000, 2_000_000)), max_size=5)


@settings(max_examples=60, deadline=None)
@given(EVENTS, TEMPI, st.sampled_from([24, 96, 480, 960, 32767]))
def test_whole_files_read_as_other_readers_read_them(
    rows: list[tuple[int, int, int, int]], tempi: list[tuple[int, int]], division: int
) -> None:
    """On files that are whole symusic and mido are right: same notes, same seconds."""
    data = midi(
        [
            track(b"".join(tempo(us, after=after) for after, us in tempi)),
            track(b"".join(note(k, after=a, length=n, channel=c) for a, k, n, c in rows)),
        ],
        division=division,
    )
    file = read(data)
    theirs: Any = symusic.Score.from_midi(data)
    onsets = sorted(each.time for row in theirs.to("second").tracks for each in row.notes)
    assert sorted(seconds(file)) == pytest.approx(onsets, abs=1e-3, rel=1e-5)
    assert sorted(seconds(file)) == pytest.approx(sorted(by_mido(data)), abs=1e-6)


def by_mido(data: bytes) -> list[float]:
    """Return when the notes of a whole file begin, as mido's own reader has it."""
    now, onsets = 0.0, []
    for message in mido.MidiFile(file=io.BytesIO(data)):
        now += message.time
        if message.type == "note_on" and message.velocity:
            onsets.append(now)
    return onsets


def test_mido_agrees_on_a_file_it_wrote() -> None:
    """The writer of our own tracks is mido."""
    file = mido.MidiFile(ticks_per_beat=96)
    rows = [mido.Message("note_on", note=60, velocity=n, time=24) for n in (80, 0) * 4]
    file.tracks.append(mido.MidiTrack(rows))
    saved = io.BytesIO()
    file.save(file=saved)
    assert seconds(read(saved.getvalue())) == pytest.approx(by_mido(saved.getvalue()))


@pytest.mark.parametrize("value", [0, 0x40, 0x7F, 0x80, 0x2000, 0x3FFF, 0x4000, 0xFFFFFFF])
def test_a_time_of_any_length_is_read(value: int) -> None:
    """The examples of the standard (RP-001, 1996)."""
    body = number(value) + b"\x90\x3c\x40"
    (only,) = read(midi([track(body)])).tracks[0].notes
    assert only.tick == value


GOOD = midi(
    [
        track(
            meta(0x03, b"T") + meta(0x58, b"\3\2\x18\x08") + tempo(600_000) + meta(0x59, b"\2\0")
        ),
        track(b"\0\xc0\x47" + notes(12, length=240) + tempo(500_000) + notes(3)),
    ]
)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.binary(max_size=6)), max_size=5),
    st.integers(0, len(GOOD)),
)
def test_any_bytes_give_notes_or_one_line(changes: list[tuple[int, bytes]], keep: int) -> None:
    """Whatever a download did to it: nothing else than our own errors, and notes in order."""
    data = bytearray(GOOD[:keep] if keep % 3 == 0 else GOOD)
    for at, bytes_there in changes:
        data[at : at + max(len(bytes_there), 1)] = bytes_there
    try:
        file = read(bytes(data))
    except RhythmtrainError as error:
        assert "\n" not in str(error)  # noqa: PT017
        return
    for index, row in enumerate(file.tracks):
        clock = file.clock(index)
        times = np.array([float(clock.second(each.tick)) for each in row.notes])
        assert np.all(np.isfinite(times))
        assert np.all(np.diff(times) >= 0)
        assert all(each.end_tick >= each.tick for each in row.notes)


def test_seconds_and_quarters_are_two_faces_of_one_clock() -> None:
    """A quarter's second is the second of the tick that stands there."""
    clock = read(midi([track(tempo(300_000) + notes(3) + tempo(900_000) + notes(3))])).clock()
    for tick in (0, 100, 1440, 1441, 5000):
        assert clock.second_at(clock.quarter(tick)) == clock.second(tick)
    assert clock.steady(Fraction(0), Fraction(3)) == 200
    assert clock.steady(Fraction(2), Fraction(4)) is None
