"""What progress says and draws of a passage."""

import re
from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from defusedxml import ElementTree

from rhythmtrain.coach.evidence import BarRuns, Practised
from rhythmtrain.coach.skill import state_of
from rhythmtrain.coach.today import plan_for_today
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.report.days.days import total
from rhythmtrain.report.days.page import progress_page
from rhythmtrain.report.days.picture import (
    MOST_BARS,
    MOST_DAYS,
    drawn_bars,
    drawn_days,
    progress_picture,
    progress_svg,
)
from rhythmtrain.report.days.text import command, overview_text, progress_text
from rhythmtrain.report.days.view import (
    BarOnDay,
    BarRow,
    EntryOnDay,
    EntryRow,
    Progress,
    TempoOnDay,
)
from rhythmtrain.report.days.words import entry_in_words, even_in_words, habit_in_words
from rhythmtrain.report.narrower import relaid

FIRST = date(2026, 3, 1)
STEADY_S = 0.03


def on_day(
    number: int, spread_s: float | None = STEADY_S, *, missed: int = 0, takes: int = 3
) -> BarOnDay:
    """Return a bar of eight notes on one day."""
    day = FIRST + timedelta(days=number)
    return BarOnDay(day, takes, 24 - missed, missed, 0, spread_s, STEADY_S, -0.012)


def row(spreads_s: Sequence[float | None], *, bar: int = 6, missed: int = 0) -> BarRow:
    """Return a bar whose spread was so on one day after the other."""
    days = tuple(on_day(number, each, missed=missed) for number, each in enumerate(spreads_s))
    runs = tuple(
        BarRuns(d.day, 72.0, bar, d.takes, d.matched, d.missed, spread_s=d.spread_s) for d in days
    )
    state = state_of(Practised("rag", "Kitchen Rag", 72.0, bars=runs), days[-1].day)
    return BarRow(bar, days, state.bars[0])


def progress(bars: Sequence[BarRow], *, entries: tuple[EntryRow, ...] = ()) -> Progress:
    """Return a passage with these bars, whose last day was without a fault at 60."""
    state = state_of(Practised("29-towpath-rag", "Kitchen <Rag>", 72.0), FIRST)
    tempi = (TempoOnDay(FIRST, 54, 3, 0), TempoOnDay(FIRST + timedelta(days=8), 60, 2, 1))
    return Progress(state, 5, tuple(bars), entries, tempi)


ENTRY = EntryRow(
    9,
    "2&",
    (
        EntryOnDay(FIRST, alone=False, tries=4, in_time=3, best_s=0.01, last_s=0.2, last_verdict="late"),
        EntryOnDay(FIRST, alone=True, tries=2, in_time=1, best_s=-0.03, last_s=0.15, last_verdict="late"),
    ),
)  # fmt: skip


@pytest.mark.parametrize(
    ("spreads_s", "words"),
    [
        ([0.02] * 4, "even"),
        ([0.09] * 4, "uneven"),
        ([0.11, 0.10, 0.02, 0.02], "even, more even than at first"),
        ([0.02, 0.02, 0.11, 0.12], "less even than at first"),
        ([None, None], "too little heard to tell"),
        # Twice as even as a steady player needs to be is no news.
        ([0.024, 0.024, 0.011, 0.011], "even"),
        ([0.011, 0.011, 0.024, 0.024], "even"),
    ],
)
def test_only_what_is_plainly_so_is_said_of_evenness(
    spreads_s: list[float | None], words: str
) -> None:
    """A steady player is never called uneven, nor told to have become so."""
    said = even_in_words(row(spreads_s))
    assert said == words or said.endswith(words)
    assert ("uneven" in said) == (words == "uneven" or said.startswith("uneven"))


def test_an_entry_is_told_without_help_first_with_best_and_last() -> None:
    """What helped is kept apart from what did not."""
    assert entry_in_words(ENTRY) == (
        "without help in time 1 of 2, otherwise in time 3 of 4, best 10 ms late, last 150 ms late"
    )


def test_a_habit_has_a_side() -> None:
    """Early, late, or on the beat."""
    assert habit_in_words(-0.012) == "12 ms early"
    assert habit_in_words(0.012) == "12 ms late"
    assert habit_in_words(0.0) == "on the beat"
    assert habit_in_words(None) == ""


def test_the_tempi_of_a_day_are_put_together_by_what_they_rest_on() -> None:
    """One take at another tempo does not stand for ten."""
    many, few = on_day(0, 0.02, takes=3), on_day(0, 0.08, takes=23)
    assert (many.free, few.free) == (21, 1)
    both = total([many, few])
    assert both.spread_s == pytest.approx(((21 * 0.02**2 + 0.08**2) / 22) ** 0.5)
    assert (both.takes, both.matched) == (26, 48)
    assert both.habit_s == pytest.approx(-0.012)
    assert total([on_day(0, None)]).spread_s is None


def test_what_was_missed_lately_counts_and_not_what_was_long_ago() -> None:
    """A bar that was learnt is not told of its first days for ever."""
    days = (*(on_day(n, missed=12) for n in range(5)), *(on_day(n) for n in range(5, 8)))
    assert BarRow(2, days).recent == (0, 72)
    assert BarRow(2, days[:5]).recent == (36, 72)


def test_best_and_last_are_not_the_same() -> None:
    """The fastest that went right, and what came last."""
    told = progress([row([0.02] * 3)])
    assert told.best is not None
    assert told.best.tempo == 60
    assert told.last is not None
    assert (told.last.tempo, told.last.takes) == (60, 2)
    empty = Progress(told.state, 0, (), (), ())
    assert (empty.best, empty.last, empty.days) == (None, None, ())


def test_the_text_tells_today_tempi_entries_and_bars() -> None:
    """In this order, no line too wide, nothing due left without a reason."""
    told = progress([row([0.09] * 3, missed=4)], entries=(ENTRY,))
    plan = plan_for_today([told.state], FIRST)
    text = progress_text(told, plan, FIRST)
    heads = [text.index(word) for word in ("Today", "\nTempo", "\nEntries", "\nBars")]
    assert heads == sorted(heads)
    assert "bar 6  uneven" in text
    assert "12 of 72 not heard" in text
    assert "rhythmtrain clap 29-towpath-rag --tempo" in text
    assert max(map(len, text.splitlines())) <= 78


def test_many_bars_are_told_as_far_as_one_reads() -> None:
    """The rest stands on the page."""
    told = progress([row([0.02] * 2, bar=bar) for bar in range(1, 51)])
    text = progress_text(told, plan_for_today([], FIRST), FIRST)
    assert "and 10 more" in text
    assert "bar 41" not in text


def test_before_the_first_take_a_kind_sentence_says_how_to_begin() -> None:
    """Nobody is greeted by an empty table."""
    plan = plan_for_today([], FIRST)
    assert "`rhythmtrain clap off-beats" in relaid(overview_text((), plan, FIRST), as_typed)
    assert "`rhythmtrain clap off-beats" in progress_page((), plan, FIRST, words=as_typed)


def test_whoever_practises_some_bars_is_sent_to_these() -> None:
    """Not to the whole of a long score."""
    (item,) = plan_for_today([progress([]).state], FIRST).items
    assert " --bars 17-24 " in command(item, "17-24")
    assert "--bars" not in command(item)


def texts(svg: str) -> list[str]:
    """Return everything that is written in a drawing."""
    found = ElementTree.fromstring(svg.encode()).iter()
    return ["".join(each.itertext()).strip() for each in found if each.tag.endswith("}text")]


def test_the_picture_has_a_row_for_every_bar_tempo_and_entry() -> None:
    """Small multiples: each bar's number once, the same panels in each."""
    told = progress([row([0.02] * 3, bar=bar, missed=2) for bar in (0, 1, 2, 17)], entries=(ENTRY,))
    said = texts(progress_svg(told))
    for name in ("upbeat", "1", "2", "17", "72"):
        assert said.count(name) == 1
    assert any("entry in bar 9" in each for each in said)
    assert said.count("1 Mar") == 3


def test_the_picture_is_drawn_for_one_day_and_for_bars_of_which_little_is_known() -> None:
    """The first evening gives a picture too, as PNG and SVG."""
    told = Progress(progress([]).state, 1, (BarRow(1, (on_day(0, None),)),), (), ())
    assert progress_picture(told, kind="png").startswith(b"\x89PNG")
    assert "1 Mar" in texts(progress_svg(told))


def test_of_very_many_bars_those_are_drawn_that_need_it() -> None:
    """The drawing stays one that can be opened."""
    rows = [row([0.02] * 2, bar=bar, missed=8 * (bar == 150)) for bar in range(1, 161)]
    drawn = drawn_bars(progress(rows))
    assert len(drawn) == MOST_BARS
    assert 150 in {each.bar for each in drawn}
    assert [each.bar for each in drawn] == sorted(each.bar for each in drawn)


def test_of_very_many_days_the_last_are_drawn() -> None:
    """Years of practice make a picture that opens; the words still know all of it."""
    days = tuple(on_day(number, missed=number % 2) for number in range(400))
    told = Progress(progress([]).state, 400, (BarRow(1, days), BarRow(2, days[:9])), (), ())
    drawn = drawn_days(told)
    assert len(drawn.days) == MOST_DAYS
    assert [row.bar for row in drawn.bars] == [1]
    assert drawn_days(drawn) is drawn
    assert "last 120 days" in progress_page((told,), plan_for_today([], FIRST), FIRST)
    assert len(progress_svg(told)) < 200_000


def test_early_and_late_are_never_told_by_red_and_green() -> None:
    """Shapes and sides say it; the one colour is blue."""
    svg = progress_svg(progress([row([0.09] * 3, missed=3)], entries=(ENTRY,)))
    colours = {each.lower() for each in re.findall(r"#[0-9a-fA-F]{6}", svg)}
    assert colours <= {"#000000", "#ffffff", "#5f5f5f", "#b9b9b9", "#e6e9ee", "#0072b2"}


def test_the_page_needs_nothing_beside_it() -> None:
    """It is sent to a teacher as it is, and a title is no markup."""
    told = progress([row([0.02] * 3)], entries=(ENTRY,))
    page = progress_page((told, told), plan_for_today([told.state], FIRST), FIRST)
    assert "Kitchen &lt;Rag&gt;" in page
    assert not re.findall(r'(?:src|href)="(?!#)[^"]*"', page.replace('href="http://www.w3', ""))
    identities = re.findall(r'\sid="([^"]+)"', page)
    assert len(identities) == len(set(identities))
