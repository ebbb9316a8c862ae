"""An entry course on the page of a pack: each try says what to do, with its answer beside it."""

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.prompts.entry_help import entry_steps
from rhythmtrain.report.packs.entry import HELP_WORDS, PackedEntry, PackedTry, begins_in_words
from rhythmtrain.report.packs.page import pack_page
from rhythmtrain.score.drill.drill import read_drill

DRILL = """title = "Towpath <Lock>"
metre = "2/4"
tempo = 72
rhythm = "1 2 | rest 3 | (1) & 2"
"""


def test_every_step_of_help_has_words_that_say_what_to_do() -> None:
    """With an accompanist or with the click alone."""
    steps = {step.name for heard in (True, False) for step in entry_steps(accompanied=heard)}
    assert steps == set(HELP_WORDS)


def test_where_a_try_begins_is_said_in_bars() -> None:
    """One finds the place in the part."""
    assert begins_in_words(Try(8, 0), 3) == "from bar 3, eight bars before the entry"
    assert begins_in_words(Try(1, 0), 10) == "from bar 10, one bar before the entry"
    assert begins_in_words(Try(0, 0, from_top=True), 11) == "from bar 11, the entry's own"


def test_each_try_has_two_buttons_and_a_tick_and_no_midi_is_spoken_of() -> None:
    """Play, come in, then hear where it was."""
    passage = read_drill(DRILL, name="x.toml").passage
    assert passage is not None
    tries = tuple(
        PackedTry(name, "from bar 1, four bars before the entry", f"quarter = {tempo}",
                  f"x/{tempo}-{place}.mp3", f"x/{tempo}-{place}-answer.mp3")
        for tempo in (36, 72)
        for place, name in enumerate(("rests counted aloud", "no help"))
    )  # fmt: skip
    cue = ("Before it the accompanist plays two quarter notes.",)
    packed = PackedEntry(passage, "x", "bar 5, the and of 1", tries, recorded=True, cue=cue)
    page = pack_page([packed])
    assert page.count("<audio") == page.count('class="play"') == 8
    assert page.count("data-tick=") == 4
    assert "MIDI" not in page
    assert "Where you come in" not in page
    assert "Bar 5, the and of 1." in page
    assert cue[0] in page
    assert "recorded at quarter = 72" in page
    assert 'href="#p1-2">72</a>' in page
    assert 'src="x/36-0-answer.mp3"' in page
