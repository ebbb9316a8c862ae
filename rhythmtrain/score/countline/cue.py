"""The accompanist's rhythm: a count line bar for bar beside the player's.

Metre, length, repeats and bar numbers come from the rhythm, so an upbeat, and a bar that shares
its time with one, have the same length in both.  The cue may repeat a repeat sign, an ending or a
metre of the rhythm, but not say another; tempo, pauses and words belong in the rhythm.
"""

from collections.abc import Iterator
from dataclasses import replace

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.bars import WrittenBar, written_bars
from rhythmtrain.score.countline.holds import Holds, check_holds
from rhythmtrain.score.countline.laying import Hint, Reading
from rhythmtrain.score.countline.places import held_or_silent, places_of
from rhythmtrain.score.countline.signs import in_bar
from rhythmtrain.score.countline.words import words_of
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, Kind


def read_cue(text: str, beside: tuple[Bar, ...]) -> Reading:
    """Return the bars of the cue ``text``, one for each bar of the rhythm ``beside``.

    Raises:
        DrillError: the text is no count line, or does not run beside the rhythm.
    """
    bars: list[Bar] = []
    hints: list[Hint] = []
    held: Holds = {}
    source = written_bars(words_of(text))
    number = beside[0].number
    while True:
        try:
            written = next(source, None)
            if written is None:
                break
            models = beside[len(bars) : len(bars) + max(written.rest, 1)]
            number = models[0].number if models else number
            _check(written, models)
            bar = _bar(written, models[0])
        except DrillError as error:
            raise in_bar(error, number) from None
        words = zip(bar.places, written.counts, strict=True)
        held |= {(len(bars), at.at): count.word for at, count in words if at.kind is Kind.HELD}
        hints += _hints(written, bar)
        bars += [bar, *(_plain(model) for model in models[1:])]
    if len(bars) < len(beside):
        raise DrillError(
            f"the cue has {len(bars)} bar{'s' * (len(bars) != 1)} and the rhythm {len(beside)}: "
            "write rest for the bars in which the accompanist is silent"
        )
    check_holds(tuple(bars), held)
    return Reading(every_beat_named(tuple(bars)), tuple(hints))


def _plain(model: Bar) -> Bar:
    return replace(model, places=(), tempo=None, pause=False, landmarks=())


def _bar(written: WrittenBar, model: Bar) -> Bar:
    places = places_of(written.counts, model.metre)
    for place, count in zip(places, written.counts, strict=True):
        if not model.begins <= place.at < model.ends:
            raise count.word.error(
                f"{count.word.text} lies outside this bar, "
                "an upbeat or one that shares its time with it: for a silent upbeat write rest 1"
            )
    return replace(_plain(model), places=places)


def _check(written: WrittenBar, models: tuple[Bar, ...]) -> None:
    """Refuse more bars than the rhythm has, and signs that differ from the rhythm's."""
    first, marks = written.first, written.marks
    if len(models) < max(written.rest, 1):
        raise first.error("the cue has more bars than the rhythm beside it")
    if marks.tempo is not None or marks.pause or marks.landmarks:
        raise first.error("tempo, pause and words stand in the rhythm, not in the cue")
    here, last = models[0], models[-1]
    differs = (
        (written.opens and not here.opens, "|:"),
        (written.times and written.times != last.times, ":|"),
        (marks.ending and marks.ending != here.ending, "first or second time"),
        (marks.metre and marks.metre.text != str(here.metre), "metre"),
    )
    for wrong, sign in differs:
        if wrong:
            raise first.error(
                f"{sign} stands here in the cue but not in the rhythm: metre and repeats come "
                "from the rhythm, so leave it out"
            )


def _hints(written: WrittenBar, bar: Bar) -> Iterator[Hint]:
    for word, message in held_or_silent(written.counts, bar.places, bar.metre):
        yield Hint(bar.number, message, word.line, word.column)
