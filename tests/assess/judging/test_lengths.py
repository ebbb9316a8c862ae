"""How long notes were held: told where the take knows, and never a fault where it does not."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.held_as import HeldAs, LengthFinding
from rhythmtrain.assess.judging.lengths import amiss, lengths_of
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out

# Bar 2 holds three beats before a rest, bar 4 two that lead on, bar 6 one beat and rests.
LINE = """1 2 3 4 | 1 [2] [3] (4) | 1 & 2 3 4 | 1 [2] 3 4 |
1 [2] (3) (4) | 1 (2) (3) (4) | 1 2 3 [4]"""
DRILL = f'title = "Long"\nmetre = "4/4"\ntempo = 80\nrhythm = """{LINE}"""\n'


def timeline(speed: float = 1.0, repeats: int = 1) -> Timeline:
    """Return the passage laid out."""
    passage = read_drill(DRILL, name="long.toml").passage
    assert passage is not None
    return lay_out(passage, Practice(speed=speed, repeats=repeats))


Held = Callable[[str, float], float]


def told(
    held: Held, *, source: str = "midi", speed: float = 1.0, found: bool = False, repeats: int = 1
) -> tuple[LengthFinding, ...]:
    """Return what is told of a take in which each note lasted as ``held`` says.

    ``held`` is given the place as "bar count" and how long it is written, in seconds.
    """
    written = timeline(speed, repeats)
    heard = tuple(
        Heard(
            1 + written.seconds(note.at),
            0.0,
            0.001,
            held(
                f"{note.note.bar} {note.note.count}",
                written.seconds(note.at + note.note.length) - written.seconds(note.at),
            ),
        )
        for note in written.notes
    )
    take = Take(source, "take", heard, heard[-1].time_s + 3)
    base = timeline(1.0, repeats) if found else written
    settings = Settings(speed=None if found else speed)
    return lengths_of(base, take, check_take(base, take, settings))


def full(written: Timeline) -> list[Heard]:
    """Return every note, held as long as it is written."""
    return [
        Heard(
            1 + written.seconds(note.at),
            0.0,
            0.001,
            written.seconds(note.at + note.note.length) - written.seconds(note.at),
        )
        for note in written.notes
    ]


def said(found: tuple[LengthFinding, ...]) -> list[tuple[int, HeldAs, float, float]]:
    """Return what is amiss: bar, verdict, beats held, beats written."""
    return [
        (each.bar, each.verdict, round(each.held_beats, 1), each.written_beats)
        for each in amiss(found)
    ]


def test_a_note_that_is_cut_off_before_a_rest_is_told_first() -> None:
    """Two of three beats in bar 2 come before one of two in bar 4, which leads on."""
    short = {"4 1": 0.5, "2 1": 2 / 3}
    found = told(lambda place, written: written * short.get(place, 0.95))
    assert said(found) == [(2, HeldAs.CUT_SHORT, 2.0, 3.0), (4, HeldAs.CUT_SHORT, 1.0, 2.0)]


def test_a_note_held_into_a_rest_is_told_where_ends_are_known() -> None:
    """From MIDI; in a room nobody can tell it from the echo."""
    long = {"5 1": 1.6}
    found = told(lambda place, written: written * long.get(place, 0.95))
    assert said(found) == [(5, HeldAs.HELD_ON, 3.2, 2.0)]
    assert not said(told(lambda place, w: w * long.get(place, 0.95), source="audio"))


@pytest.mark.parametrize("share", [0.72, 0.85, 1.0, 1.1])
@pytest.mark.parametrize("speed", [0.5, 1.0, 1.5])
def test_who_leaves_a_little_air_between_notes_hears_nothing(share: float, speed: float) -> None:
    """Separated or joined, slow or fast: it is how one plays."""
    chance = np.random.default_rng(4)
    found = told(lambda _, written: written * share * chance.uniform(0.95, 1.05), speed=speed)
    assert found
    assert not said(found)


def test_a_pad_says_nothing_of_lengths() -> None:
    """Struck and let go at once, or held as long as the machine makes each note."""
    assert told(lambda _p, _w: 0.08) == ()
    assert told(lambda _p, _w: 0.7) == ()


def test_short_playing_all_through_is_a_manner_and_no_fault() -> None:
    """Staccato is written with dots that the passage does not know."""
    assert told(lambda _, written: 0.4 * written) == ()


def test_lengths_are_told_at_the_tempo_that_was_played() -> None:
    """Also where that was found: slower notes are longer in seconds, not in beats."""
    short = {"2 1": 2 / 3}
    found = told(lambda place, w: w * short.get(place, 0.95), speed=0.7, found=True)
    assert said(found) == [(2, HeldAs.CUT_SHORT, 2.0, 3.0)]


def test_nothing_is_told_in_free_tempo_of_another_piece_or_without_ends() -> None:
    """Where a beat has no length, or the take knows none."""
    written = timeline()
    heard = tuple(full(written))
    take = Take("midi", "take", heard, 40.0)
    findings = check_take(written, take, Settings())
    assert lengths_of(written, take, findings)
    assert lengths_of(written, take, replace(findings, timing="free")) == ()
    assert lengths_of(written, take, replace(findings, looks_like=False)) == ()
    bare = replace(take, heard=tuple(replace(each, length_s=None) for each in heard))
    assert lengths_of(written, bare, findings) == ()


def test_a_missed_note_has_no_length() -> None:
    """What was not played was not held."""
    written = timeline()
    heard = full(written)
    del heard[4]
    take = Take("midi", "take", tuple(heard), 40.0)
    found = lengths_of(written, take, check_take(written, take, Settings()))
    assert len(found) == len(written.notes) - 1
