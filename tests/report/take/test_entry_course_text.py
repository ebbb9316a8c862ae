"""What is said of a row of tries at an entry."""

from rhythmtrain.coach.entry_course import Course, Tried, Try
from rhythmtrain.report.take.entry_course import (
    LEARNT,
    MORE,
    SLOWER,
    WAITED,
    TryTold,
    advice,
    course_text,
    entry_in_words,
    lead_in_words,
    next_command,
    went_in_words,
)
from rhythmtrain.score.entries import entries_of
from tests.simulate.passages import bar, passage

COURSE = Course(8, 3)


def _tried(*, good: bool, late: bool = False, step: int = 0, lead: int = 4) -> Tried:
    return Tried(Try(lead, step), good, late)


def test_whoever_waits_to_hear_is_told_so_and_what_to_do_instead() -> None:
    """The commonest fault of all at an entry, when it is the pattern."""
    said = advice([_tried(good=False, late=True)] * 4, COURSE)
    assert said[0] == WAITED
    assert WAITED not in advice([_tried(good=False)] * 4, COURSE)


def test_three_alone_are_learnt_and_nothing_more_is_asked() -> None:
    """Enough for this one."""
    assert advice([_tried(good=True, step=2)] * 3, COURSE) == (LEARNT,)


def test_how_often_it_went_well_is_said_and_what_helps_otherwise() -> None:
    """Plainly, and without a number to be ashamed of."""
    good, bad = _tried(good=True), _tried(good=False)
    assert advice([good, good, bad], COURSE) == (
        "You came in where you should 2 times in 3.", MORE,
    )  # fmt: skip
    assert advice([bad, bad, good], COURSE)[1] == SLOWER
    assert advice([bad, bad], COURSE)[0].endswith("in none of the tries yet.")
    assert advice([bad], COURSE)[0].endswith("not yet.")


def test_every_try_has_its_line_with_lead_in_help_and_how_it_went() -> None:
    """To look back on."""
    tries = [
        TryTold(1, _tried(good=False), "one beat late"),
        TryTold(2, Tried(Try(12, 1, from_top=True), good=True), "in time"),
    ]
    text = course_text(tries, COURSE, title="Ferry Step", entry="bar 9", steps=("aloud", "click"))
    assert "   1  four bars before  one beat late (aloud)" in text
    assert "   2  from the top      in time (click)" in text
    assert max(map(len, text.splitlines())) <= 78


def test_places_and_verdicts_are_words() -> None:
    """Not codes."""
    rests = [bar(number) for number in range(1, 4)]
    piece = passage(*rests, bar(4, "1"))
    (entry,) = entries_of(piece)
    assert entry_in_words(piece, entry) == "bar 4, beat 2, after three bars of rest"
    assert [went_in_words(each) for each in ("missed", "late", "one beat early")] == [
        "not heard", "a little late", "one beat early",
    ]  # fmt: skip
    assert lead_in_words(Tried(Try(4, 0, from_top=True), good=True)) == "from the top"
    assert lead_in_words(Tried(Try(4, 0, from_top=True), good=True), whole=False) == (
        "four bars before"
    )
    assert lead_in_words(_tried(good=True, lead=0)) == "from its own bar"
    assert lead_in_words(_tried(good=True, lead=1)) == "one bar before"


def test_what_to_type_next_can_be_typed() -> None:
    """The same entry, faster where it was learnt."""
    assert next_command("my rag.toml", None, tempo=None, bar=9) == (
        'rhythmtrain enter "my rag.toml" --entry 9'
    )
    assert next_command("rag", "1-9", tempo=66, bar=9, options=" --from mic") == (
        "rhythmtrain enter rag --bars 1-9 --entry 9 --tempo 66 --from mic"
    )
