"""What is said of a row of tries at one entry: each try in a line, then what to do next."""

from collections.abc import Sequence
from dataclasses import dataclass

from rhythmtrain.assess.entry_words import class_words
from rhythmtrain.coach.entry_course import Course, Tried, learnt, waits_to_hear
from rhythmtrain.report.lines import hanging, table
from rhythmtrain.report.take.commands import typed
from rhythmtrain.report.take.entry_told import wrong_cue_in_words
from rhythmtrain.report.take.playing import Playing
from rhythmtrain.report.words import bar_in_words, count_in_words, rest_in_words, several
from rhythmtrain.score.entries import Entry
from rhythmtrain.score.passage import Passage

NOT_HEARD = {"missed": "not heard", "not checked": "not heard"}
NEAR_HALVES = 0.09
LITTLE = {"late": "a little late", "early": "a little early"}
LEARNT = "Three times running you came in without help. Next time begin with another entry."
WAITED = (
    "You waited to hear it: you came in a little late nearly every time. Count to the entry, "
    "breathe before it, and come in together with the beat, not after it."
)
MORE = "Go on another day: a few tries a day are better than many at once."
SLOWER = "Count the rest aloud, clapping its beats, with nothing else; then try the entry again."


@dataclass(frozen=True, slots=True)
class TryTold:
    """One try for the list: its number, and how it went ("in time", "one beat late")."""

    number: int
    tried: Tried
    went: str


def went_in_words(verdict: str, wrong_cue: int | None = None) -> str:
    """Return how an entry came in, as one says it; ``wrong_cue`` is the bar after whose cue it came."""
    went = NOT_HEARD.get(verdict, LITTLE.get(verdict, verdict))
    return went if wrong_cue is None else f"{went}, {wrong_cue_in_words(wrong_cue)}"


def beats_out(beats: float, a_bar: float) -> str:
    """Return how far out an entry was: "five beats early", "two bars late", "about 4.3 beats early"."""
    halves = round(2 * beats) / 2
    if halves and abs(beats - halves) < NEAR_HALVES:
        return class_words(halves, a_bar)
    return f"about {abs(beats):.1f} beats {'late' if beats > 0 else 'early'}"


def drifted(out: str) -> str:
    """Return how an entry came in that was ``out`` by so much, which may be no whole count."""
    return f"{out}: the count drifted" if out.startswith("about") else out


def not_there(out: str, playing: Playing, *, beats: bool) -> str:
    """Return what was heard in place of an entry: ``beats`` of the rest, or something ``out``."""
    if beats:
        return f"not heard: only beats of the rest, the first {out}"
    return f"not heard: your first {playing.noun} was {out}"


def entry_in_words(passage: Passage, entry: Entry) -> str:
    """Return which entry it is: "bar 11, the and of 2, after eight bars of rest"."""
    where = f"{bar_in_words(entry.bar)}, {count_in_words(passage, entry.bar, entry.count)}"
    if entry.rest_bars:
        return f"{where}, after {several(entry.rest_bars, 'bar')} of rest"
    if entry.rest_beats:
        return f"{where}, after {rest_in_words(float(entry.rest_beats))} of rest"
    return where


def lead_in_words(tried: Tried, *, whole: bool = True) -> str:
    """Return where a try began: "from the top", "two bars before".

    ``whole`` is whether the longest lead-in is all of the passage: a map of a few bars leaves less.
    """
    each = tried.tried
    if each.from_top and whole:
        return "from the top"
    return f"{several(each.lead, 'bar')} before" if each.lead else "from its own bar"


def course_text(
    tries: Sequence[TryTold],
    course: Course,
    *,
    title: str,
    entry: str,
    steps: Sequence[str],
    whole: bool = True,
) -> str:
    """Return the whole text; ``steps`` are the names of the steps of help, ``whole`` as above."""
    rows = [
        (
            f"{told.number:2}  {lead_in_words(told.tried, whole=whole)}",
            f"{told.went} ({steps[told.tried.tried.help]})",
        )
        for told in tries
    ]
    done = [told.tried for told in tries]
    said = [hanging("", words, indent=0) for words in advice(done, course)]
    head = "\n".join(hanging("", line, indent=0) for line in (title, entry))
    return "\n\n".join([head, "\n".join(["Tries", table(rows)]), *said])


def advice(done: Sequence[Tried], course: Course) -> tuple[str, ...]:
    """Return what to say after the tries, the first thing first."""
    good = sum(each.good for each in done)
    told = [WAITED] if waits_to_hear(done) else []
    if learnt(course, done):
        return (*told, LEARNT)
    came = f"You came in where you should {_often(good, len(done))}."
    return (*told, came, MORE if good * 2 >= len(done) or told else SLOWER)


def next_command(
    name: str, bars: str | None, *, tempo: float | None, bar: int, options: str = ""
) -> str:
    """Return what to type next: the same entry again, or at ``tempo`` beats a minute."""
    which = f" --bars {bars}" if bars else ""
    at = f" --tempo {round(tempo, 1):g}" if tempo is not None else ""
    return f"rhythmtrain enter {typed(name)}{which} --entry {bar}{at}{options}"


def _often(good: int, tries: int) -> str:
    if not good:
        return "in none of the tries yet" if tries > 1 else "not yet"
    return f"{good} times in {tries}" if good > 1 else f"once in {tries}"
