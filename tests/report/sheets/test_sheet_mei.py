"""A passage as the engraver is given it: whole, and with a count under all that is played or not."""

from fractions import Fraction
from xml.etree.ElementTree import Element

import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import DrillError
from rhythmtrain.report.sheets.counts import printed_counts
from rhythmtrain.report.sheets.measures import SheetLook
from rhythmtrain.report.sheets.mei import mei_of
from rhythmtrain.report.sheets.pitches import Accidentals, clef
from rhythmtrain.score.countline.countline import read_rhythm
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.notation.notation import notated
from rhythmtrain.score.passage import Bar, Kind, Passage, Place
from rhythmtrain.storage.drills import load_drill, shipped_drills
from rhythmtrain.units import Bpm

MEI = "{http://www.music-encoding.org/ns/mei}"
NAMES = [drill.name for drill in shipped_drills()]
KINDS = st.sampled_from([Kind.PLAYED, Kind.SILENT, Kind.HELD])


def drill(name: str) -> Passage:
    """Return the passage of a supplied drill."""
    passage = load_drill(name).passage
    assert passage is not None
    return passage


def written(rhythm: str, metre: str = "2/4", look: SheetLook | None = None) -> Element:
    """Return the document of a count line."""
    bars = read_rhythm(rhythm, Metre.parse(metre)).bars
    passage = Passage("Mill race", Bpm(72.0), bars)
    root: Element = fromstring(mei_of(passage, look or SheetLook()))
    return root


def texts(root: Element, tag: str) -> list[str]:
    """Return the words of every element called ``tag``."""
    return ["".join(each.itertext()) for each in root.iter(MEI + tag)]


@pytest.mark.parametrize("name", NAMES)
def test_every_note_and_rest_of_the_supplied_drills_has_its_count(name: str) -> None:
    """Whoever counts along the page never meets a sign without a word."""
    for bar in notated(drill(name).bars):
        counted = {count.at for count in printed_counts(bar)}
        assert {sign.at for sign in bar.signs} <= counted
        assert all(count.text for count in printed_counts(bar))


@pytest.mark.parametrize("name", NAMES)
def test_supplied_drills_become_whole_documents_with_all_their_bars(name: str) -> None:
    """No bar is lost on paper: rests written as one sign say how many they are."""
    passage = drill(name)
    for five in (False, True):
        root = fromstring(mei_of(passage, SheetLook(five=five, rests=True, british=True)))
        longer = sum(int(rest.attrib["num"]) - 1 for rest in root.iter(MEI + "multiRest"))
        assert len(list(root.iter(MEI + "measure"))) + longer == len(passage.bars)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(
            st.tuples(st.integers(0, 11), KINDS), max_size=8, unique_by=lambda place: place[0]
        ),
        min_size=1,
        max_size=4,
    )
)
def test_any_bars_become_a_well_formed_document(
    drawn: list[list[tuple[int, Kind]]],
) -> None:
    """Twelfths of a bar in 3/4 hold quarters, sixteenths and silence in any order."""
    metre = Metre.parse("3/4")
    bars = tuple(
        Bar(
            number,
            metre,
            tuple(Place(Fraction(at, 4), kind) for at, kind in sorted(places)),
            Fraction(0),
            metre.length,
        )
        for number, places in enumerate(drawn, start=1)
    )
    root = fromstring(mei_of(Passage("Any", Bpm(60.0), bars)))
    ids = [
        each.attrib[name] for each in root.iter() for name in each.attrib if name.endswith("}id")
    ]
    assert len(ids) == len(set(ids))
    syllables = texts(root, "syl")
    for bar in notated(bars):
        for count in printed_counts(bar) if bar.signs else ():
            assert count.text in syllables


def test_silent_counts_stand_in_round_brackets_and_held_ones_in_square() -> None:
    """The same signs as in the count line."""
    assert texts(written("1 (2) | 1 [2]"), "syl") == ["1", "(2)", "1", "[2]"]


def test_bars_of_rest_are_one_sign_and_counted_when_wanted() -> None:
    """One counts rests as "1 2, 2 2, 3 2"."""
    root = written("1 2 | rest 3 | 1 2")
    assert [rest.attrib["num"] for rest in root.iter(MEI + "multiRest")] == ["3"]
    counted = texts(written("1 2 | rest 3 | 1 2", look=SheetLook(rests=True)), "syl")
    assert counted[2:8] == ["(1)", "(2)", "(2)", "(2)", "(3)", "(2)"]


def test_a_breath_mark_stands_before_an_entry() -> None:
    """The player prepares there, and nothing else stands in the way."""
    root = written("1 2 | rest 3 | (1) 2")
    assert len(list(root.iter(MEI + "breath"))) == 1
    assert not list(written("1 2 | 1 2").iter(MEI + "breath"))


def test_triplets_over_two_beats_stand_under_one_bracket() -> None:
    """Three even notes in the time of two quarters."""
    root = written("1 li [2] la")
    shown = [t for t in root.iter(MEI + "tuplet") if t.get("bracket.visible") == "true"]
    assert [(tuplet.get("num"), tuplet.get("numbase")) for tuplet in shown] == [("3", "2")]


def test_the_words_of_a_bar_stand_over_it() -> None:
    """Tempo, its changes, landmarks and repeats are what a player looks for."""
    root = written('1 2 | tempo 60 to 40 over 2 bars "letter B" 1 2 | 1 2 :| x3 pause 1 2')
    assert texts(root, "tempo") == ["quarter = 72", "quarter = 60 to 40 over 2 bars"]
    assert "letter B" in texts(root, "dir")
    assert "three times in all" in texts(root, "dir")
    assert len(list(root.iter(MEI + "fermata"))) == 1


def test_an_accidental_stands_once_in_a_bar() -> None:
    """A sharp holds to the bar line, and is taken back by a natural."""
    bar = Accidentals()
    signs = [bar.place(pitch) for pitch in (61, 61, 60)]
    assert [' accid="' in sign for sign in signs] == [True, False, True]
    assert clef([40, 45, 50]) == "F"
    assert clef([]) == "G"


def test_a_clarinet_reads_its_part_as_it_is_written_for_it() -> None:
    """Sounding C and E flat are D and F on her paper; a sheet in C would be played a tone too low."""
    place = (
        Place(Fraction(0), Kind.PLAYED, pitches=(72,)),
        Place(Fraction(1), Kind.PLAYED, pitches=(75,)),
    )
    bar = Bar(1, Metre.parse("2/4"), place, Fraction(0), Fraction(2))
    for up, names in ((0, ["c", "e"]), (2, ["d", "f"])):
        passage = Passage("Mill race", Bpm(72.0), (bar,), written_up=up)
        root = fromstring(mei_of(passage, SheetLook(five=True)))
        notes = [note for note in root.iter(MEI + "note") if note.get("pname")]
        assert [note.get("pname") for note in notes] == names
        assert [note.get("accid") for note in notes] == [None, None if up else "f"]


def test_a_rest_that_nobody_counts_has_its_count_too() -> None:
    """Three sixteenths of silence are two rests on paper; the second says where it stands."""
    (bar,) = notated(read_rhythm("(1) a 2", Metre.parse("2/4")).bars)
    assert [count.text for count in printed_counts(bar)] == ["(1)", "(&)", "a", "2"]


def test_a_long_rest_that_ends_a_repeat_keeps_its_sign() -> None:
    """One sign for four bars still sends the player back."""
    root = written("|: 1 2 | rest 4 :|x3 1 2")
    rest = root.findall(f".//{MEI}measure")[1]
    assert rest.find(f".//{MEI}multiRest") is not None
    assert rest.get("right") == "rptend"
    assert "three times in all" in texts(root, "dir")


def test_a_first_time_that_comes_twice_has_both_numbers() -> None:
    """The second time is then the third."""
    root = written("|: 1 2 | first time 1 (2) :|x3 second time 1 2")
    assert [each.get("n") for each in root.iter(MEI + "ending")] == ["1, 2", "3"]


@pytest.mark.parametrize("rhythm", ["1 1+1/64 2", "1 2+3/128"])
def test_a_length_without_a_sign_is_refused_with_its_bar(rhythm: str) -> None:
    """The count line says more than notation can."""
    with pytest.raises(DrillError, match=r"bar 2: \d+/\d+ of a quarter"):
        written(f"1 2 | {rhythm}")
