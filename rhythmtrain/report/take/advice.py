"""What to say and do after a take: one true praise, one thing first, what else can wait.

The rest of what was heard stands in the table.  Nothing here is in milliseconds.
"""

from dataclasses import dataclass

from rhythmtrain.assess.findings import FEW_NOTES, Verdict
from rhythmtrain.report.take.commands import again, look, next_tempo, onward
from rhythmtrain.report.take.gone_through import not_played, not_played_in_words
from rhythmtrain.report.take.instead_told import begin_with, instead_in_words, steadiness
from rhythmtrain.report.take.praise import Heard, praise
from rhythmtrain.report.take.troubles import troubles

MOST_OTHERS = 3
FULL_SPEED = 0.97
ENOUGH = 0.5
TOO_LITTLE = (
    "Too little of it was checked to tell how it goes: try it slower, and go on to the end, "
    "whatever happens."
)
AT_TEMPO = "It stands at its tempo"
NOT_SURE = "It was right at its tempo, but these were too few notes to be sure"


@dataclass(frozen=True, slots=True)
class Advice:
    """One true praise, the one thing to do first, others that can wait, and what to type."""

    praise: str
    first: str
    others: tuple[str, ...]
    command: str

    @property
    def lines(self) -> tuple[str, ...]:
        """Return everything to do, the first thing first."""
        return (self.first, *self.others)

    @property
    def labelled(self) -> tuple[tuple[str, str], ...]:
        """Return what is said, each sentence with the word before it; only the first "Then"."""
        then = [("" if number else "Then", words) for number, words in enumerate(self.others)]
        said = (("Good", self.praise), ("First", self.first), *then)
        return tuple((label, words) for label, words in said if words)


def advice(
    heard: Heard,
    *,
    name: str,
    bars: str | None = None,
    live: str | None = None,
    part: str = "",
) -> Advice:
    """Return what to say and do after a take.

    ``name`` is what one types for the passage, ``bars`` the excerpt of it that was asked for,
    ``part`` the options that name a part of a score.
    ``live`` is None for a recorded take, else the options that say what it was heard from.
    """
    instead = heard.findings.instead
    if instead is not None:
        bar = begin_with(heard, instead)
        which = () if bar is None else (bar,)
        slower = again(heard, name, bars, which, live=live, part=part)
        return Advice(steadiness(heard, instead), instead_in_words(heard, instead), (), slower)
    if heard.findings.looks_like is False:
        return Advice("", _another_piece(heard), (), look(name, bars, part=part))
    amiss = troubles(heard)
    if not amiss and _too_little(heard):
        slower = again(heard, name, bars, (), live=live, part=part)
        return Advice(praise(heard), TOO_LITTLE, (), slower)
    gone = not_played(heard)
    if not amiss and gone:
        once_more = again(heard, name, bars, (), live=live, part=part)
        return Advice(praise(heard), not_played_in_words(heard, gone), (), once_more)
    if not amiss:
        faster = onward(heard, name, bars, live=live, part=part)
        return Advice(praise(heard), _onward(heard), (), faster)
    first, *others = amiss
    command = again(heard, name, bars, first.bars, live=live, part=part)
    return Advice(
        praise(heard), first.words, tuple(each.words for each in others[:MOST_OTHERS]), command
    )


def _too_little(heard: Heard) -> bool:
    """Return whether most places of the passage were checked in no repeat."""
    notes = heard.findings.notes
    places = {(note.bar, note.count) for note in notes}
    checked = {(note.bar, note.count) for note in notes if note.verdict is not Verdict.NOT_CHECKED}
    return len(checked) < ENOUGH * len(places)


def _another_piece(heard: Heard) -> str:
    return (
        f"This does not sound like {heard.passage.title}. Is it the right passage, and are "
        "the bars and the speed those that were played?"
    )


def _onward(heard: Heard) -> str:
    if heard.findings.speed < FULL_SPEED:
        return f"Try it a little faster: {next_tempo(heard):g} beats a minute."
    if FEW_NOTES in heard.findings.remarks:
        return f"{NOT_SURE}: {heard.playing.verb} it four times in a row."
    if heard.playing.verb == "clap":
        return f"{AT_TEMPO}: clap it once with nothing sounding, then take your instrument."
    verb = heard.playing.verb
    return f"{AT_TEMPO}: {verb} it once with nothing sounding, then with the accompaniment."
