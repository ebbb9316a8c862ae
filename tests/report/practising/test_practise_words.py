"""What a session says: every step, every reason, every end, in words a tired student understands."""

from datetime import date, timedelta

import pytest

from rhythmtrain.coach.stages import NEVER_HEARD, Stage
from rhythmtrain.coach.task import Done, Over, Reason, Task
from rhythmtrain.coach.today import Item, Later, Why
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.report.narrower import relaid
from rhythmtrain.report.practising.how import (
    Listening,
    how_in_words,
    often_in_words,
    title_in_words,
    unheard_in_words,
)
from rhythmtrain.report.practising.page import Page, page_lines
from rhythmtrain.report.practising.text import StepTold, session_text
from rhythmtrain.report.practising.today import later_in_words, todo_in_words, why_in_words
from rhythmtrain.report.practising.words import (
    over_in_words,
    rest_in_words,
    result_in_words,
    why_next,
)
from rhythmtrain.units import Bpm

DAY = date(2026, 3, 1)
JARGON = ("sd", "drift", "latency", "score", "streak", "confidence", "posterior", "rung")
KEYS = Listening("keys")
CLARINET = Listening("mic", "clarinet")


def task(stage: Stage = Stage.ALONE, reason: Reason = Reason.AGAIN, **more: object) -> Task:
    """Return a task at 44."""
    return Task(stage, Bpm(44.0), 2, reason, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("listening", [KEYS, CLARINET, Listening("midi", "horn", heard=False)])
def test_every_step_says_in_plain_words_what_to_do(listening: Listening) -> None:
    """One instruction, no jargon, nothing left to be filled in."""
    for stage in Stage:
        for step in range(3):
            words = how_in_words(task(stage, help=step), listening)
            assert words.endswith((".", "?")), stage
            assert not set(JARGON) & set(words.lower().replace(".", "").split()), words
            assert "{" not in words
        assert title_in_words(task(stage))


def test_every_reason_and_every_end_has_its_sentence() -> None:
    """Why this comes next, and why no more comes."""
    said = [why_next(task(reason=reason)) for reason in set(Reason) - {Reason.BEGIN}]
    said += [why_next(task(stage, Reason.IN_ORDER)) for stage in set(Stage) - {Stage.ALONE}]
    assert len(set(said)) == len(said)
    assert all(each.endswith(".") for each in said)
    assert len({over_in_words(over) for over in Over}) == len(Over)


def test_what_is_clapped_is_not_said_to_be_played() -> None:
    """The ladder is played on what is heard, and clapped where nothing hears the instrument."""
    assert how_in_words(task(Stage.LADDER), CLARINET).startswith("Play it.")
    assert how_in_words(task(Stage.LADDER), KEYS).startswith("Clap it.")
    unheard = Listening("midi", "clarinet", heard=False)
    assert how_in_words(task(Stage.LADDER), unheard).startswith("Clap it.")
    soprano = Listening("mic", "soprano", sung=True)
    assert how_in_words(task(Stage.LADDER), soprano).startswith("Sing it.")
    assert how_in_words(task(Stage.AS_WRITTEN), soprano).startswith("Sing it as it is written.")


def test_what_nobody_judges_is_said_and_why() -> None:
    """Nobody is left to believe that the keys heard them sing."""
    unheard = Listening("keys", "clarinet", heard=False)
    assert unheard_in_words(Stage.SING, unheard) == (
        "Nobody judges this: the keys cannot hear you sing."
    )
    assert "cannot hear your clarinet" in unheard_in_words(Stage.AS_WRITTEN, unheard)
    assert [unheard_in_words(stage, unheard) for stage in NEVER_HEARD] == ["", ""]


@pytest.mark.parametrize(
    ("done", "words"),
    [
        (Done(task(), 2, 2), "right both times"),
        (Done(task(), 3, 3), "right all three times"),
        (Done(task(), 1, 1), "right"),
        (Done(task(), 2, 1, (6,)), "right once in two; bar 6 went wrong"),
        (Done(task(), 2, 0, (6, 7)), "not yet right; bars 6 and 7 went wrong"),
        (Done(task(bars=(6,)), 3, 1, (6,)), "right once in three"),
        (Done(task(), silent=True), "nothing was heard"),
        (Done(task(Stage.LISTEN)), "done"),
        (Done(task(Stage.COME_IN), 6, 4), "in time four times in six"),
    ],
)
def test_how_it_went_is_said_in_a_few_words(done: Done, words: str) -> None:
    """The bar that failed is named once, not where it is the only one that was played."""
    assert result_in_words(done) == words


def test_bars_alone_are_told_from_bars_among_their_neighbours() -> None:
    """So that nobody wonders why there are suddenly three."""
    assert title_in_words(task(bars=(6,))) == "Clap without hearing it: bar 6 alone"
    around = task(bars=(5, 6, 7), context=True)
    assert title_in_words(around) == "Clap without hearing it: bars 5 to 7"
    assert often_in_words(around) == "twice"
    assert often_in_words(Task(Stage.COME_IN, Bpm(44.0), 6, Reason.IN_ORDER)) == ""


PAGE = Page(
    head="Towpath Rag, second strain",
    clock="3 of 10 minutes",
    heard=(
        "Clap without hearing it: right once in two; bar 6 went wrong.",
        "Bar 6: " + "late " * 40,
    ),
    title="Clap without hearing it: bar 6 alone",
    pace="quarter = 35, three times",
    how=("You hear the click and the whole count, no longer the rhythm: clap it.", ""),
    why=why_next(task(reason=Reason.ALONE)),
    foot="Enter, or any key, begins. Escape ends the session; every take is kept.",
    care=rest_in_words(10.2),
)


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (60, 20), (40, 24), (200, 50)])
def test_the_page_fits_every_screen_and_always_says_how_to_begin(columns: int, rows: int) -> None:
    """On a low screen what was heard goes first, never the instruction."""
    lines = page_lines(PAGE, columns, rows)
    assert len(lines) <= rows
    assert all(len(line) <= columns for line in lines)
    text = " ".join(" ".join(lines).split())
    assert "Next: Clap without hearing it" in text
    assert "Escape ends the session" in text
    assert "You hear the click" in text


def test_the_page_says_what_was_heard_what_comes_and_why() -> None:
    """In this order."""
    text = "\n".join(page_lines(PAGE, 80, 24))
    places = [text.index(each) for each in ("What was heard", "Next:", "You hear", "Why:", "Enter")]
    assert places == sorted(places)
    first = Page("Rag", "0 of 10 minutes", (), "Listen", "quarter = 44", (), "Because.", "Enter.")
    assert "What was heard" not in "\n".join(page_lines(first, 80, 24))


def test_the_end_says_what_was_done_and_what_to_type() -> None:
    """At most 78 columns, with a word of care."""
    steps = [StepTold("Listen", "quarter = 44: done"), StepTold("Echo", "quarter = 44: right")]
    laid = session_text(("Rag", "10 minutes"), steps, ("Over.",), "rhythmtrain practise rag")
    text = relaid(laid, as_typed)
    assert all(len(line) <= 78 for line in text.splitlines())
    assert "Echo    quarter = 44: right" in text
    assert text.endswith("To type next:\n  rhythmtrain practise rag")
    assert "What you did" not in session_text(("Rag",), [], ("Stopped.",), "x")


ITEM = Item("rag", "Rag", Bpm(48.0), Why.FASTER, reached=Bpm(44.0), nights=2)


def test_every_reason_of_the_day_is_one_sentence() -> None:
    """Which passage, which bars, at what tempo, and why."""
    waits = {Why.A_NIGHT_FIRST, Why.RESTS, Why.ENOUGH}
    for why in set(Why) - waits:
        item = Item("rag", "Rag", Bpm(48.0), why, bars=(6,), nights=3, entry=None)
        words = why_in_words(item)
        assert words.endswith(".")
        assert words.count(". ") == 0
    for why in waits:
        words = later_in_words(Later("rag", "Rag", DAY + timedelta(days=4), why), DAY)
        assert words.startswith("Rag: ")
    assert "44" in why_in_words(ITEM)


def test_what_to_do_names_bars_or_the_entry_and_the_tempo() -> None:
    """So that one can begin at once."""
    assert todo_in_words(ITEM) == "Rag, all of it, at 48 beats a minute"
    bars = Item("rag", "Rag", Bpm(35.0), Why.WEAK_BARS, bars=(6, 7))
    assert todo_in_words(bars) == "Rag, bars 6 and 7 alone, at 35 beats a minute"
    entry = Item("rag", "Rag", Bpm(44.0), Why.ENTRY, entry=(11, "2&"))
    assert todo_in_words(entry) == "Rag, the entry in bar 11, at 44 beats a minute"
    night = Later("rag", "Rag", DAY + timedelta(days=1), Why.A_NIGHT_FIRST)
    assert "tomorrow" in later_in_words(night, DAY)
