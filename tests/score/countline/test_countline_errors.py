"""Every rhythm that does not read: one sentence, with line, column and bar."""

import pytest

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.metre import Metre

# Text, metre, words of the message, line and column, bar.
CASES = [
    ("1 2 | 1 3", "2/4", "beat 3 is named, but 2/4 has two beats", (1, 9), 2),
    ("0 1", "2/4", "beat 0 is named", (1, 1), 1),
    ("1 1000000000000", "2/4", "no beat of so many digits", (1, 3), 1),
    ("1 1.5", "2/4", "a beat is a whole number", (1, 3), 1),
    ("2 1", "2/4", "1 comes after 2, but counts in a bar go forward", (1, 3), 1),
    ("1 & e", "2/4", "1e comes after 1&", (1, 5), 1),
    ("1 1", "2/4", "1 stands twice in one bar", (1, 3), 1),
    ("1 2 &\n& | 1", "2/4", "2& stands twice", (2, 1), 1),
    ("& 2", "2/4", r"begins with '&': say which beat, like \(1\) & or \[1\] &", (1, 1), 1),
    ("1 2 | e 2", "2/4", "begins with 'e'", (1, 7), 2),
    ("1 ta", "2/4", "'ta' belongs to beats that divide in three", (1, 3), 1),
    ("1 e & a", "6/8", "here say la li .* count in eighths", (1, 3), 1),
    ("1 +", "6/8", "here say la li", (1, 3), 1),
    ("1 trip let", "6/8", "here say la li", (1, 3), 1),
    ("1 ta ta", "6/8", "1ta stands twice", (1, 6), 1),
    ("1 la", "5/8 group", "has no syllables; write the place like 1", (1, 3), 1),
    ("1 1+5/5", "2/4", "must lie inside the beat", (1, 3), 1),
    ("1 1+0/5", "2/4", "must lie inside the beat", (1, 3), 1),
    ("1 1+1/0", "2/4", "must lie inside the beat", (1, 3), 1),
    ("1 1+1/99999", "2/4", "must lie inside the beat", (1, 3), 1),
    ("1 2 + 1/5", "2/4", "written without blanks, like 2", (1, 8), None),
    ("1 (2", "2/4", r"the bracket \( is not closed in its bar: write \)", (1, 3), 1),
    ("1 [& | 2]", "2/4", r"the bracket \[ is not closed", (1, 3), 1),
    ("1 (2]", "2/4", r"the bracket \( is not closed", (1, 3), 1),
    ("1 2)", "2/4", r"the bracket \) is closed and was not opened", (1, 4), 1),
    ("1 ()", "2/4", r"nothing stands between \( and \)", (1, 3), 1),
    ("1 ((2))", "2/4", r"the bracket \( is not closed", (1, 3), 1),
    ("1 (2>)", "2/4", "an accent > belongs to a played count", (1, 5), 1),
    ("> 1", "2/4", "stands right after a played count", (1, 1), 1),
    ("(1)> 2", "2/4", "stands right after a played count", (1, 4), 1),
    ("1 2 | | 1 2", "2/4", "an empty bar: for silence write rest 1", (1, 7), 2),
    ("| 1 2", "2/4", "an empty bar", (1, 1), 1),
    ("1 2 || 1 2", "2/4", r"'\|\|' is no bar line", (1, 5), 1),
    ("1 2 :||: 1 2", "2/4", r"no bar line: write \|, \|:, :\| or :\|:", (1, 5), 1),
    ("|: :|", "2/4", "an empty bar", (1, 4), 1),
    ("pause | 1 2", "2/4", "the bar has no counts", (1, 1), 1),
    ("", "2/4", "the rhythm is empty", None, None),
    (" # only a remark\n", "2/4", "the rhythm is empty", None, None),
    ("[1] 2", "2/4", r"\[1\] holds a note, but nothing sounds there: write \(1\)", (1, 2), 1),
    ("1 (2) | [1]", "2/4", "nothing sounds there", (1, 10), 2),
    ("1 2 | rest 1 | [1] 2", "2/4", "nothing sounds there", (1, 17), 3),
    ("1 (&) [2]", "2/4", "nothing sounds there", (1, 8), 1),
    ("rest 999999999", "2/4", "rest goes from 1 to 999, got 999999999", (1, 6), 1),
    ("rest 1000", "2/4", "rest goes from 1 to 999", (1, 6), 1),
    ("rest 0", "2/4", "rest goes from 1 to 999", (1, 6), 1),
    ("rest 1.5", "2/4", "rest goes from 1 to 999", (1, 6), 1),
    ("rest " + "9" * 5000, "2/4", "rest goes from 1 to 999", (1, 6), 1),
    ("rest", "2/4", "rest wants a number", (1, 1), 1),
    ("rest | 1", "2/4", "rest wants a number", (1, 1), 1),
    ("rest 2 1 2", "2/4", "rest stands alone in its bar", (1, 8), 1),
    ("1 rest 2", "2/4", "rest stands alone in its bar", (1, 3), 1),
    ("|: 1 2 | 1 2", "2/4", "this repeat is never closed: end it with", (1, 4), 1),
    ("1 2 |:", "2/4", "a repeat is opened here and never closed", (1, 5), 2),
    ("1 2 :|:", "2/4", "a repeat is opened here and never closed", (1, 5), 2),
    ("|: 1 2 |: 1 2 :|", "2/4", "opened before the one before it is closed", (1, 11), 2),
    ("1 2 :| x1", "2/4", "goes from 2 to 99, got 1", (1, 9), 1),
    ("1 2 :| x100", "2/4", "goes from 2 to 99, got 100", (1, 9), 1),
    ("1 2 :| x", "2/4", "wants a number, 2 to 99", (1, 8), 1),
    ("1 2 | x3", "2/4", r"stand right after :\|", (1, 7), 2),
    ("1 2 | second time 1 2", "2/4", "stands right after the first time", (1, 7), 2),
    ("1 2 :| second time 1 2", "2/4", "stands right after the first time", (1, 8), 2),
    ("first time 1 2 :| 1 2", "2/4", "stands the second time", (1, 19), 2),
    ("first time 1 2 :|", "2/4", "no second time follows", (1, 1), 1),
    ("first time 1 2 | 1 2", "2/4", "the first time is never closed", (1, 1), 1),
    ("first time 1 2 | first time 1 2 :|", "2/4", "stands twice in one repeat", (1, 18), 2),
    ("first 1 2", "2/4", "write first time, in two words", (1, 1), 1),
    ("1 metre 3/4 2", "2/4", "stands at the start of a bar", (1, 3), 1),
    ('1 "piano" 2', "2/4", "stands at the start of a bar", (1, 3), 1),
    ("metre 1 2", "2/4", "after metre comes a metre", (1, 1), 1),
    ("metre 0/4 1", "2/4", "the upper number must be 1 to 64", (1, 7), 1),
    ("metre 3/5 1", "2/4", "the lower number must be one of", (1, 7), 1),
    ("metre 3/4 metre 2/4 1", "2/4", "one mark too many", (1, 11), 1),
    ("pause pause 1", "2/4", "one mark too many", (1, 7), 1),
    ("first time second time 1 :|", "2/4", "one mark too many", (1, 12), 1),
    ("tempo 60 tempo 70 1", "2/4", "one mark too many", (1, 10), 1),
    ("tempo 1 2", "2/4", "tempo must be 5 to 1000 beats a minute, got 1", (1, 7), 1),
    ("tempo 0 1 2", "2/4", "tempo must be more than 0 beats a minute, got 0", (1, 7), 1),
    ("tempo fast 1", "2/4", "'fast' is no word", (1, 7), None),
    ("tempo | 1", "2/4", "a tempo is a number", (1, 1), 1),
    ("tempo 90 to | 1", "2/4", "a tempo is a number", (1, 10), 1),
    ("tempo 90 to 60 1 2", "2/4", "say over how many bars", (1, 13), 1),
    ("tempo 90 to 60 over 0 bars 1", "2/4", "goes from 1 to 9999", (1, 21), 1),
    ("tempo 90 to 60 over 4 1", "2/4", "after the number comes bars", (1, 21), 1),
    ("1 E", "2/4", "'E' is a capital letter: a count line is written in lower case", (1, 3), None),
    ("1 é", "2/4", "plain ASCII characters", (1, 3), None),
    ("1 ２", "2/4", "plain ASCII characters", (1, 3), None),  # noqa: RUF001
    ("1 \x00", "2/4", "plain ASCII characters", (1, 3), None),
    ("1 ; 2", "2/4", "';' has no meaning", (1, 3), None),
    ("1 2 | metro 3/4 1", "2/4", "'metro' is no word of a count line; did you mean 'metre'", (1, 7), None),
    ("1 " + "z" * 90, "2/4", "words go between quotation marks", (1, 3), None),
    ('"piano 1 2', "2/4", "a quotation mark is opened and not closed", (1, 1), None),
    ('" " 1 2', "2/4", "nothing stands between the quotation marks", (1, 1), None),
    (f'"{"a" * 201}" 1 2', "2/4", "at most 200 letters", (1, 1), None),
    ('"a" ' * 21 + "1 2", "2/4", "at most 20 words in quotation marks", (1, 81), 1),
    ("1 to 2", "2/4", "'to' has no meaning here", (1, 3), 1),
    ("4 | 1 2 3 4 :|", "4/4", "share one bar, but both fill its end", (1, 11), 1),
    ("1 2 3 4 |: 4 | 1 2 3 :|", "4/4", "share one bar, but both fill its end", (1, 12), 1),
    ("|: 4 | 1 2 :|: 3 | 1 2 :|", "4/4", "to another of a different length", (1, 16), 1),
    ("|: 4 :|", "4/4", "share one bar", (1, 4), 0),
    ("rest 999 | " * 10 + "rest 10", "2/4", "more than 9999 bars", (1, 111), 9991),
    ("rest 999 :| x99", "2/4", "with its repeats the rhythm has more than 9999 bars", None, None),
    ("1 " * 500_001, "2/4", "longer than 1 MB", None, None),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "metre", "words", "place", "bar"), CASES, ids=[text[:30] for text, *_ in CASES]
)
def test_what_does_not_read_says_where_and_why(
    text: str, metre: str, words: str, place: tuple[int, int] | None, bar: int | None
) -> None:
    """A slip of the pen is found at once: its line, its column, its bar, and what to write."""
    written, _, beat = metre.partition(" ")
    with pytest.raises(DrillError, match=words) as caught:
        read_bars(text, Metre.parse(written, beat=beat or None))
    found = None if caught.value.line is None else (caught.value.line, caught.value.column)
    assert (found, caught.value.bar) == (place, bar)
    assert "\n" not in str(caught.value)


def test_the_message_begins_with_its_place() -> None:
    """Where to look comes first."""
    with pytest.raises(DrillError) as caught:
        read_bars("1 2 |\n1 3", Metre.parse("2/4"))
    assert str(caught.value) == ("line 2, column 3, bar 2: beat 3 is named, but 2/4 has two beats")


def test_a_way_of_counting_is_named_where_a_beat_is_missing() -> None:
    """Someone who counts 6/8 in two is told so when beat 3 is named."""
    with pytest.raises(DrillError, match="beat 3 is named, but 4/4 counted in half beats has two"):
        read_bars("1 3", Metre.parse("4/4", beat="half"))


def test_bars_that_a_count_line_cannot_say_are_not_written_as_others() -> None:
    """A short bar in the middle of a score must not come back as a whole one."""
    whole = read_bars("1 2 | 1 2 | 1 2", Metre.parse("2/4"))
    short = read_bars("1 | 1 2 :|", Metre.parse("2/4"))
    odd = read_bars("2 | 1 :|", Metre.parse("2/4"))[1]
    assert write_bars(short)
    with pytest.raises(DrillError, match="bar 1: its length, metre or way of counting cannot"):
        write_bars((odd, *whole[1:]))
    eighths = read_bars("1 2 3 4 5 6", Metre.parse("6/8", beat="eighth"))
    with pytest.raises(DrillError, match="cannot be written as a count line"):
        write_bars((*read_bars("1 2", Metre.parse("6/8")), *eighths))
