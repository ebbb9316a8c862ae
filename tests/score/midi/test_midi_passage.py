"""A part of a MIDI file as a passage: places, bars, tempi, parts."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.render.midi import midi_bytes
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.midi.file import MidiFile, read_midi_file
from rhythmtrain.score.midi.parts import choose_part, without_clicks
from rhythmtrain.score.midi.passage import midi_passage
from rhythmtrain.score.midi.places import on_grid, written_places
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.storage.drills import load_drill, shipped_drills
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.midi_bytes import meta, midi, note, notes, tempo, track

SUPPLIED = [drill.name for drill in shipped_drills()]
THREE_FOUR = meta(0x58, b"\3\2\x18\x08")
ONE_FOUR = meta(0x58, b"\1\2\x18\x08")


def opened(data: bytes) -> MidiFile:
    """Return the file under its test name."""
    return read_midi_file(data, name="piece.mid")


def passage_of(data: bytes, wish: str | None = None) -> Passage:
    """Return the part of a file whose notes lie on the grid, as a passage."""
    file = opened(data)
    part, _ = choose_part(file, wish)
    clock = file.clock(part.track)
    quarters = [clock.quarter(each.tick) for each in part.notes]
    written = written_places(quarters, clock.tick_quarters(0))
    assert written is not None
    return midi_passage(file, part, written[0], title="Piece")


def seconds(passage: Passage) -> list[float]:
    """Return when each note comes, from the beginning of the passage."""
    timeline = lay_out(passage, Practice(count_in=0))
    return [timeline.track_seconds(each.at) for each in timeline.notes]


@pytest.mark.parametrize("name", SUPPLIED)
def test_what_we_write_reads_back(name: str) -> None:
    """Every supplied drill as MIDI and back: same places, same tempo, same seconds."""
    passage = load_drill(name).passage
    assert passage is not None
    timeline = lay_out(passage, Practice(count_in=0))
    plan = plan_track(timeline, Wishes(layers=frozenset({Layer.TUNE})))
    data = midi_bytes(plan)
    again = lay_out(passage_of(data), Practice(count_in=0))
    start, restart = timeline.bars[0].start, again.bars[0].start
    assert [each.at - restart for each in again.notes] == [
        each.at - start for each in timeline.notes
    ]
    heard = [each.pitches for each in notes_of(again.passage.bars)]
    assert heard == [each.pitches for each in plan.prompts]
    assert seconds(again.passage) == pytest.approx(
        [timeline.track_seconds(each.at) for each in timeline.notes], abs=1.0e-3
    )
    assert again.passage.tempo == passage.tempo


def test_lengths_and_rests_are_those_of_the_file() -> None:
    """A short note is followed by a rest; one that ends a little early is held to the next."""
    body = note(60, length=456) + note(62, after=24, length=240) + note(64, after=240, length=960)
    bars = passage_of(midi([track(body)])).bars
    assert [each.length for each in notes_of(bars)] == [1, Fraction(1, 2), 2]
    assert write_bars(bars) == "1 2 (&) 3 [4]"


@pytest.mark.parametrize(
    ("lengths", "written"),
    [((97, 231), "1/4 1/2"), ((5, 230), "1/4 1/2"), ((97, 11), "1/4 1/4"), ((97, 333), "1/4 3/4")],
)
def test_a_note_let_go_anywhere_ends_on_a_sixteenth(lengths: tuple[int, int], written: str) -> None:
    """A finger off a key a little late or early prints no thirty-seconds and triplet rests."""
    first, second = lengths
    body = note(60, after=7, length=first) + note(62, after=360 - first, length=second)
    file = opened(midi([track(body)]))
    part, _ = choose_part(file, None)
    passage = midi_passage(file, part, (Fraction(0), Fraction(3, 4)), title="Piece")
    ended = " ".join(str(each.length) for each in notes_of(passage.bars))
    assert ended == written


def test_a_note_over_the_bar_line_is_held_there() -> None:
    """The bar it is held through is not a bar of rest."""
    bars = passage_of(midi([track(THREE_FOUR + note(60, length=7 * 480) + note(62))])).bars
    assert write_bars(bars) == "1 [2 3] | [1 2 3] | [1] 2 (3)"


def test_triplets_of_a_coarse_division_are_triplets() -> None:
    """A division of 100 rounds a third of a quarter to 33 ticks."""
    body = note(60, length=33) + note(61, length=34) + note(62, length=33) + note(63, length=100)
    assert write_bars(passage_of(midi([track(body)], division=100)).bars) == "1 la li 2 (3 4)"


def test_a_short_first_bar_is_an_upbeat() -> None:
    """It has the number 0, and the bar after it is bar 1."""
    body = ONE_FOUR + note(60) + meta(0x58, b"\3\2\x18\x08") + notes(3)
    passage = passage_of(midi([track(body)]))
    assert [bar.number for bar in passage.bars] == [0, 1]
    assert write_bars(passage.bars) == "3 | 1 2 3"


def test_a_metre_that_comes_inside_a_bar_cuts_it_short() -> None:
    """Every later bar line stands where the file has it."""
    body = notes(6) + meta(0x58, b"\3\2\x18\x08") + notes(3)
    passage = passage_of(midi([track(body)]))
    assert [str(bar.metre) for bar in passage.bars] == ["4/4", "2/4", "3/4"]


def test_a_tempo_that_changes_inside_a_bar_moves_no_note() -> None:
    """Times are what a track is made of."""
    body = notes(1) + tempo(1_000_000) + notes(2) + tempo(250_000) + notes(5)
    data = midi([track(body)])
    assert seconds(passage_of(data)) == pytest.approx([0, 0.5, 1.5, 2.5, 2.75, 3.0, 3.25, 3.5])


def test_a_tempo_nobody_plays_is_one_line() -> None:
    """A file of one microsecond a quarter."""
    with pytest.raises(FileError, match="bar 1: tempo must be"):
        passage_of(midi([track(tempo(1) + notes(4))]))


def test_ten_thousand_bars_are_one_line() -> None:
    """A broken time in a file is no reason to fill the memory."""
    with pytest.raises(FileError, match="more than 9999 bars"):
        passage_of(midi([track(note(60, after=480 * 50_000))]))


def test_markers_are_landmarks_of_their_bars() -> None:
    """The letters of the score help to find the place."""
    body = meta(0x06, b"A") + notes(4) + meta(0x06, b"piano alone") + notes(4)
    passage = passage_of(midi([track(body)]))
    assert [bar.landmarks for bar in passage.bars] == [("A",), ("piano alone",)]


PIANO = track(meta(0x03, b"Piano") + b"\0\xc0\0" + notes(3))
CLARINET = track(
    meta(0x03, b"Clarinet") + b"\0\xc1\x47" + note(60, channel=1) + note(62, channel=1)
)
DRUMS = track(meta(0x03, b"Drums") + note(38, channel=9))


def test_the_first_part_that_is_no_keyboard_is_taken_and_named() -> None:
    """The player reads the single line, and hears which was taken."""
    part, said = choose_part(opened(midi([PIANO, DRUMS, CLARINET])))
    assert (part.number, part.name) == (3, "Clarinet")
    assert said == "of 3 parts, part 3 is taken: Clarinet"


@pytest.mark.parametrize("wish", ["3", "clarinet", "clar", " Clarinet "])
def test_a_part_is_named_or_numbered(wish: str) -> None:
    """As one says it."""
    assert choose_part(opened(midi([PIANO, DRUMS, CLARINET])), wish)[0].name == "Clarinet"


@pytest.mark.parametrize("wish", ["4", "Oboe", "", "r"])
def test_a_part_that_is_not_there_is_one_line(wish: str) -> None:
    """With the parts that are there."""
    with pytest.raises(RequestError, match="say one of 1 Piano, 2 Drums, 3 Clarinet"):
        choose_part(opened(midi([PIANO, DRUMS, CLARINET])), wish)


def test_a_single_track_has_its_channels_as_parts() -> None:
    """A type 0 file keeps all players in one track."""
    body = note(60) + note(62, channel=3) + note(38, channel=9)
    file = opened(midi([track(body)], kind=0))
    assert choose_part(file, "channel 4")[0].notes[0].key == 62


def test_a_file_without_notes_is_one_line() -> None:
    """Words and pedal only."""
    with pytest.raises(FileError, match="holds no notes"):
        choose_part(opened(midi([track(meta(1, b"hello"))])))


@pytest.mark.parametrize(
    ("ticks", "written"),
    [((240,) * 8, "1 & 2 & 3 & 4 &"), ((480,) * 4, "1 2 3 4"), ((960, 960), "1 [2] 3 (4)")],
)
def test_the_last_stroke_of_percussion_hangs_into_no_new_bar(
    ticks: tuple[int, ...], written: str
) -> None:
    """It lasts as long as the one before; a bar with nothing but its tie is nowhere in the music."""
    body = b"".join(note(38, length=length, channel=9) for length in ticks)
    assert write_bars(passage_of(midi([track(body)])).bars) == written


def test_a_click_beside_the_player_is_left_out() -> None:
    """Percussion beside notes keeps time; a metronome's keys beside claps do too; alone they stay."""
    click, clap, played = note(76, channel=9), note(39, channel=9), note(60)
    for body, keys in ((click + played, [60]), (click + clap, [39]), (click, [76])):
        kept = without_clicks(opened(midi([track(body)])).tracks[0].notes)
        assert [each.key for each in kept] == keys


@settings(max_examples=80, deadline=None)
@given(
    st.integers(0, 10_000),
    st.sampled_from([1, 2, 3, 4, 5, 6, 8, 12, 16]),
    st.sampled_from([48, 96, 120, 192, 480, 960]),
)
def test_a_written_place_comes_back_from_its_tick(over: int, under: int, division: int) -> None:
    """Rounding to a tick and reading back is the identity wherever the ticks are fine enough."""
    place = Fraction(over, under)
    quarter = Fraction(round(place * division), division)
    if under < division / 3:
        assert on_grid(quarter, Fraction(1, division)) == place


@pytest.mark.parametrize("seed", range(20))
def test_played_notes_never_pass_for_written_ones(seed: int) -> None:
    """A performance must be written down with care, not taken for a score."""
    rng = np.random.default_rng(seed)
    written = np.cumsum(rng.choice([0.5, 1.0], 30))
    played = np.sort(written + rng.normal(0, 0.02, 30))
    quarters = [Fraction(round(at * 960), 960) for at in played]
    assert written_places(quarters, Fraction(1, 960)) is None
