"""Passages written as MusicXML: valid, and read back the same by us and by two other libraries.

The W3C's schema of MusicXML 4.0 comes from the package ``musicxml``, and what it imports from
``xmlschema``; only these files of the two are used.
"""

import contextlib
import io
import warnings
from dataclasses import replace
from fractions import Fraction
from functools import cache
from importlib.metadata import distribution
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from lxml import etree

from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.musicxml.document import read_score
from rhythmtrain.score.musicxml.parts import choose_part
from rhythmtrain.score.musicxml.passage import part_passage
from rhythmtrain.score.musicxml.writer import unwritten, write_musicxml
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, EntryMark, Kind, Passage, Place, bar_starts, notes_of
from rhythmtrain.score.tempo import speeds
from rhythmtrain.storage.drills import load_drill, shipped_drills
from rhythmtrain.units import Bpm
from tests.simulate.passages import bar, passages
from tests.simulate.score_corpus import corpus

DRILLS = [drill.name for drill in shipped_drills()]
FASTEST = 150.0  # in beats: beyond 500 quarters a minute no tempo is believed
LARGEST_SAMPLED = 60_000
Heard = list[tuple[float, float]]


def drill(name: str) -> Passage:
    """Return a supplied drill's passage."""
    found = load_drill(name).passage
    assert found is not None
    return found


def written(text: str, metre: str = "4/4", tempo: float = 60) -> Passage:
    """Return a passage written as a count line."""
    return Passage("Ferry & <Step>", Bpm(tempo), read_bars(text, Metre.parse(metre)))


@cache
def schema() -> etree.XMLSchema:
    """Return the schema; what it imports is taken from beside it, and nothing from a network."""
    local = {
        "xml.xsd": _shipped("xmlschema", "XML/xml.xsd"),
        "xlink.xsd": _shipped("xmlschema", "XLINK/xlink.xsd"),
    }

    class Beside(etree.Resolver):  # type: ignore[misc]
        """Finds the two small schemas."""

        def resolve(self, url: str, _pubid: str, context: object) -> object:
            """Return the schema that ``url`` names."""
            return self.resolve_string(local[url.rsplit("/", 1)[-1]], context)

    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Beside())
    return etree.XMLSchema(etree.fromstring(_shipped("musicxml", "musicxml_4_0.xsd"), parser))


def _shipped(package: str, ending: str) -> bytes:
    found = next(f for f in distribution(package).files or () if str(f).endswith(ending))
    return Path(str(found.locate())).read_bytes()


def read_back(text: str) -> Passage:
    """Return what our own reader makes of a written score."""
    score = read_score(text.encode("utf-8"), name="x.musicxml")
    assert not score.remarks
    cue = score.parts[1] if len(score.parts) > 1 else None
    reading = part_passage(score, score.parts[0], cue)
    assert not reading.remarks
    return reading.passage


def told(bars: tuple[Bar, ...]) -> list[object]:
    """Return all that a score can say of ``bars``: their notes, places in the bar, and signs."""
    notes = [
        (n.index, n.count, n.at, n.length, n.accent, tuple(sorted(n.pitches)))
        for n in notes_of(bars)
    ]
    signs = [
        (b.number, str(b.metre), b.begins, b.ends, b.opens, b.times, b.ending, b.landmarks)
        for b in bars
    ]
    return [notes, signs]


def uncounted(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Return ``bars`` counted in the ordinary way, only where notes begin and end and on beats."""
    plain = tuple(
        replace(each, metre=each.metre.with_beat(None), places=_turns(each)) for each in bars
    )
    return every_beat_named(plain)


def _turns(each: Bar) -> tuple[Place, ...]:
    kept: list[Place] = []
    before = None
    for place in each.places:
        if place.kind is Kind.PLAYED or (place.kind is not before and place.kind is Kind.SILENT):
            kept.append(place)
        before = before if place.kind is Kind.HELD else place.kind
    return tuple(kept)


def their_onsets(text: str) -> Heard:
    """Return (quarters from the first bar, length) of the first part as partitura reads it."""
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        import partitura  # noqa: PLC0415  (slow to import, and only needed here)

        part = partitura.load_musicxml(io.BytesIO(text.encode("utf-8"))).parts[0]
        quarters = part.quarter_map
        start = float(quarters(0))
        notes = part.iter_all(partitura.score.GenericNote, include_subclasses=True)
        return sorted(
            (
                float(quarters(note.start.t)) - start,
                float(quarters(note.end_tied.t)) - float(quarters(note.start.t)),
            )
            for note in notes
            if note.tie_prev is None and not isinstance(note, partitura.score.Rest)
        )


def onsets_in_music21(text: str) -> Heard:
    """Return (quarters from the first bar, length) of the first part as music21 reads it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21  # noqa: PLC0415  (slow to import, and only needed here)

        read = music21.converter.parseData(text, format="musicxml")
        assert isinstance(read, music21.stream.Score)
        part = read.parts[0].stripTies()
        notes = part.flatten().notes
        return sorted((float(note.offset), float(note.duration.quarterLength)) for note in notes)


def ours(written_passage: Passage) -> Heard:
    """Return (quarters from the first bar, length) of the notes, each once."""
    start = bar_starts(written_passage.bars)[0]
    return [(float(note.at - start), float(note.length)) for note in notes_of(written_passage.bars)]


def cue_in_rests(passage: Passage) -> list[Fraction]:
    """Return the onsets of the cue while the player is silent: a score's reader takes no others."""
    cue = notes_of(passage.cue) if passage.cue else ()
    notes = notes_of(passage.bars)
    return [
        heard.at
        for heard in cue
        if not any(note.at <= heard.at < note.at + note.length for note in notes)
    ]


def same(heard: Heard, wanted: Heard) -> bool:
    """Return whether two readings have the same onsets and lengths."""
    return heard == [pytest.approx(each, abs=1e-3) for each in wanted]


@pytest.mark.parametrize("name", DRILLS)
def test_every_supplied_drill_is_valid_and_reads_back_the_same(name: str) -> None:
    """A student opens a drill in a notation program and finds every note where it was."""
    passage = drill(name)
    text = write_musicxml(passage)
    assert schema().validate(etree.fromstring(text.encode("utf-8"))), schema().error_log
    back = read_back(text)
    assert told(back.bars) == told(uncounted(passage.bars))
    assert cue_in_rests(back) == cue_in_rests(passage)
    assert back.title == passage.title
    gradual = any(each.tempo and each.tempo.to for each in passage.bars)
    if not gradual:
        assert speeds(back) == tuple(pytest.approx(each, rel=1e-4) for each in speeds(passage))


@pytest.mark.parametrize("name", DRILLS)
def test_two_other_libraries_read_the_same_onsets(name: str) -> None:
    """What we write is not only readable by whoever wrote it."""
    passage = drill(name)
    text = write_musicxml(passage)
    assert same(their_onsets(text), ours(passage))
    assert same(onsets_in_music21(text), ours(passage))


@given(passages())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_passage_is_valid_and_reads_back_the_same(passage: Passage) -> None:
    """Whatever rhythm somebody wrote."""
    plain = replace(passage, bars=uncounted(passage.bars), tempo=Bpm(min(passage.tempo, FASTEST)))
    text = write_musicxml(plain)
    assert schema().validate(etree.fromstring(text.encode("utf-8"))), schema().error_log
    assert told(read_back(text).bars)[0] == told(plain.bars)[0]


@given(passages())
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_two_other_libraries_read_the_onsets_of_any_passage(passage: Passage) -> None:
    """Quintuplets and syncopations included."""
    plain = replace(passage, bars=uncounted(passage.bars), tempo=Bpm(min(passage.tempo, FASTEST)))
    text = write_musicxml(plain)
    assert same(their_onsets(text), ours(plain))
    assert same(onsets_in_music21(text), ours(plain))


@pytest.mark.parametrize(
    ("rhythm", "metre"),
    [
        ("|: 1 2 3 4 | first time 1 2 3 [4] :| second time 1 2 3 4", "4/4"),
        ("|: 1 2 | first time 1 (2) :|x3 second time [1] 2 | 1 2", "2/4"),
        ("4 | 1 2 3 4 |: 1 2 3 4 | 1 2 3 :| 1 2 3 4", "4/4"),
        ("1 2 | metre 3/4 1 2 3 | metre 6/8 1 la li 2 | pause 1 2", "2/4"),
        ('1> 2 3 4 | "B" "piano has the tune" rest 12 | "Fine" 1 2 3 4', "4/4"),
        ("tempo 96 1 2 3 4 | rest 1 | tempo 72 1 & (2) & 3 [4] | [1] 2 3 4", "4/4"),
    ],
)
def test_signs_of_every_kind_come_back(rhythm: str, metre: str) -> None:
    """Repeats, endings, upbeats, metres, tempi, accents, pauses and landmarks."""
    passage = written(rhythm, metre)
    text = write_musicxml(passage)
    assert schema().validate(etree.fromstring(text.encode("utf-8"))), schema().error_log
    back = read_back(text)
    assert told(back.bars) == told(uncounted(passage.bars))
    assert [each.pause for each in back.bars] == [each.pause for each in passage.bars]
    assert speeds(back) == tuple(pytest.approx(each, rel=1e-4) for each in speeds(passage))


def test_a_bar_told_in_pieces_is_one_measure_again() -> None:
    """A score whose tempo changes inside a bar has that bar once."""
    first = bar(1, 0, 1, ends=2)
    second = replace(bar(1, 2, 3, begins=2), tempo=None)
    text = write_musicxml(Passage("Ferry Step", Bpm(60), (first, second, bar(2, 0))))
    assert text.count("<measure ") == 2
    assert [note.count for note in notes_of(read_back(text).bars)] == ["1", "2", "3", "4", "1"]


def test_a_bar_of_rest_that_is_cut_short_delays_nobody() -> None:
    """What follows it comes as soon as it did."""
    bars = (bar(1, 0), bar(2, ends=3), bar(3, 0, 1))
    back = read_back(write_musicxml(Passage("x", Bpm(60), bars)))
    assert [note.at for note in notes_of(back.bars)] == [note.at for note in notes_of(bars)]


def test_pitches_and_chords_keep_their_ties() -> None:
    """A long chord over the bar line is one sound."""
    first = bar(1, 0, 3)
    places = (replace(first.places[0], pitches=(61,)), replace(first.places[1], pitches=(50, 74)))
    passage = Passage("x", Bpm(60), (replace(first, places=places), bar(2, 2, held=(0, 1))))
    back = notes_of(read_back(write_musicxml(passage)).bars)
    assert [(float(note.at), float(note.length), note.pitches) for note in back] == [
        (0.0, 3.0, (61,)), (3.0, 3.0, (50, 74)), (6.0, 2.0, ()),
    ]  # fmt: skip


def test_every_accidental_of_a_bar_is_written_once() -> None:
    """A program that prints only what is in the file prints the right tune."""
    first = bar(1, 0, 1, 2, 3)
    pitches = (61, 61, 60, 61)
    places = tuple(replace(p, pitches=(n,)) for p, n in zip(first.places, pitches, strict=True))
    second = bar(2, 1, 2, held=(0,))
    more = tuple(replace(p, pitches=(61,)) for p in second.places[1:])
    third = bar(3, 0, 1, 2, 3)
    scale = zip(third.places, (62, 64, 66, 69), strict=True)
    bars = (
        replace(first, places=places),
        replace(second, places=(second.places[0], *more)),
        replace(third, places=tuple(replace(p, pitches=(n,)) for p, n in scale)),
    )
    text = write_musicxml(Passage("x", Bpm(60), bars))
    assert schema().validate(etree.fromstring(text.encode("utf-8"))), schema().error_log
    notes = etree.fromstring(text.encode("utf-8")).iter("note")
    assert [note.findtext("accidental") for note in notes] == [
        "sharp", None, "natural", "sharp", None, "sharp", None, None, None, "sharp", None,
    ]  # fmt: skip


def test_what_a_score_cannot_say_is_said() -> None:
    """Nobody believes that all of a drill is in the file."""
    grouped = drill(next(name for name in DRILLS if "seven-in-groups" in name))
    assert "group" in "".join(unwritten(grouped))
    marked = replace(grouped, marks=(EntryMark(2, "1", Fraction(1)),))
    assert "entries" in "".join(unwritten(marked))
    slowing = drill(next(name for name in DRILLS if "winding-down" in name))
    assert "gradual" in "".join(unwritten(slowing))
    assert not list(unwritten(drill(DRILLS[0])))


def test_a_tempo_that_changes_gradually_lasts_as_long() -> None:
    """The mean tempo of each bar keeps a track in step to a hundredth."""
    slowing = drill(next(name for name in DRILLS if "winding-down" in name))
    lasts = [
        sum(
            float(each.length) * 2 / sum(pair)
            for each, pair in zip(read.bars, speeds(read), strict=True)
        )
        for read in (slowing, read_back(write_musicxml(slowing)))
    ]
    assert lasts[0] == pytest.approx(lasts[1], rel=0.01)


def written_again(name: str) -> None:
    """Assert that a part of a corpus score is written as a valid score with the same notes."""
    folder, _ = corpus()
    score = read_score((folder / name).read_bytes(), name=name)
    passage = part_passage(score, choose_part(score)[0]).passage
    text = write_musicxml(passage).encode("utf-8")
    assert schema().validate(etree.fromstring(text)), (name, schema().error_log)
    again = read_score(text, name=name)
    back = part_passage(again, again.parts[0]).passage
    assert sounding(back) == sounding(passage), name


def sounding(passage: Passage) -> list[tuple[Fraction, Fraction, tuple[int, ...]]]:
    """Return onset, length and pitches of every note."""
    return [(note.at, note.length, note.pitches) for note in notes_of(passage.bars)]


def small_scores() -> list[str]:
    """Return the corpus scores that are soon read."""
    folder, names = corpus()
    return [name for name in names if (folder / name).stat().st_size < LARGEST_SAMPLED]


def test_a_sample_of_real_scores_is_written_back_the_same() -> None:
    """Other programs' tuplets, ties, metres and upbeats come through twice."""
    names = small_scores()
    for name in names[:: len(names) // 10]:
        written_again(name)


@pytest.mark.long
def test_every_small_real_score_is_written_back_the_same() -> None:
    """All of them but the longest."""
    for name in small_scores():
        written_again(name)


@pytest.mark.parametrize("up", [2, 3, 14, -1, -12, 9])
def test_a_transposing_part_is_written_as_its_player_reads_it(up: int) -> None:
    """A clarinettist who opens it elsewhere sees her own notes, and hears the right ones."""
    plain = drill("towpath-rag")
    bars = tuple(
        replace(
            bar,
            places=tuple(
                replace(each, pitches=(70 + number % 5,)) if each.kind is Kind.PLAYED else each
                for number, each in enumerate(bar.places)
            ),
        )
        for bar in plain.bars
    )
    passage = replace(plain, bars=bars, written_up=up)
    text = write_musicxml(passage)
    schema().assertValid(etree.fromstring(text.encode()))
    back = read_back(text)
    assert back.written_up == up
    assert told(back.bars) == told(passage.bars)
    first = next(note.pitches[0] for note in notes_of(bars)) + up
    octave = etree.fromstring(text.encode()).find(".//note/pitch/octave")
    assert octave is not None
    assert int(octave.text or "") == first // 12 - 1
