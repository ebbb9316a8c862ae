"""The count line's reader: a rhythm written as one says it.

``1 e [&] a 2 &`` is a bar of 2/4: a bare count is played, ``( )`` is counted and silent, ``[ ]``
is counted while the note before it goes on.  The words, the grammar and the places in a bar are
read by the modules beside this one; here bars get metre, number, upbeat, repeat and their holds.

How what could be read in two ways is read:

* A bar whose first written count comes after 1 is an upbeat at the beginning of the rhythm and
  after ``|:``; anywhere else the note or silence before it goes on over its beat 1.
* An upbeat after ``|:`` and the bar before it share one bar and one number: that bar ends where
  the upbeat begins.  The bar before a ``:|`` that goes back to an upbeat ends there too, and a bar
  after such a ``:|`` that begins there or later completes it, under the same number.
* A ``:|`` without ``|:`` goes back to the beginning, or to the bar after the last repeat.
* After bars for the ``first time`` and their ``:|`` stand those for the ``second time``; with
  ``x3`` all times but the last take the first.
* ``[1]`` at the start of a bar holds what sounds on any way into that bar.
* Every beat of a bar with counts becomes a counted place, so that a passage has one form.
"""

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.bars import written_bars
from rhythmtrain.score.countline.laying import Laying, Reading
from rhythmtrain.score.countline.signs import in_bar
from rhythmtrain.score.countline.words import words_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar


def read_bars(text: str, metre: Metre, *, first_number: int | None = None) -> tuple[Bar, ...]:
    """Return the bars of the count line ``text``; as ``read_rhythm``, without its hints."""
    return read_rhythm(text, metre, first_number=first_number).bars


def read_rhythm(text: str, metre: Metre, *, first_number: int | None = None) -> Reading:
    """Return the bars of the count line ``text``, which begins in ``metre``, and gentle hints.

    ``first_number`` is the number of the first bar; without it that is 1, or 0 for an upbeat.
    A metre that the text changes to is counted as ``metre`` is, where that fits it.

    Raises:
        DrillError: the text is no count line; knows line, column and bar.
    """
    laying = Laying(metre, first_number)
    bars = written_bars(words_of(text))
    while True:
        try:
            written = next(bars, None)
            if written is None:
                break
            laying.add(written)
        except DrillError as error:
            raise in_bar(error, laying.next_number) from None
    return laying.done()
