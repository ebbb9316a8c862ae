"""What is said where the beat, or another row, was clapped in place of the rhythm.

A beginner who claps along with the beat has done what the ear asks for first; it is said at once what it
was, and what to do in a single bar, and nothing is said of single notes of a rhythm that was not tried.
"""

from rhythmtrain.assess.clapped_rows import Instead, Row
from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import UPBEAT, bar_in_words, count_in_words, listed
from rhythmtrain.score.metre import Metre, value_name
from rhythmtrain.score.passage import notes_of

DONE = {"clap": "clapped", "play": "played", "sing": "sang"}
IN_THE_FOOT = "Keep the beat in your foot."
MOST_NAMED = 6
STEADY = 1.5
NOT_KEPT = "This take is not kept in your history: nothing you have reached changes by it."


def instead_in_words(heard: Heard, instead: Instead) -> str:
    """Return what it was and what to do: "You clapped the beat, not the rhythm. …"."""
    what = row_in_words(instead.row, heard.passage.metre)
    foot = "" if instead.row is Row.CUE else f"{IN_THE_FOOT} "
    was = f"You {DONE[heard.playing.verb]} {what}, not the rhythm."
    if not instead.sure:
        was = f"This sounds more like {what} than like the rhythm of {heard.passage.title}."
    return f"{was} {foot}{_to_do(heard, instead)}"


def row_in_words(row: Row, metre: Metre) -> str:
    """Return what was clapped, in a few words: "the beat", "every eighth"."""
    beat = metre.beats[0]
    if row is Row.SPLIT:
        part = value_name(beat.length / (3 if beat.compound else 2))
        return f"every {part}" if part else "every part of the beat"
    if row is Row.OTHER:
        return "every other beat" if len(metre.beats) % 2 == 0 else "the first beat of every bar"
    return "the beat" if row is Row.BEAT else "what the accompanist plays"


def steadiness(heard: Heard, instead: Instead) -> str:
    """Return a true praise of a beat that was clapped steadily, else ""."""
    beat_s = 60.0 / (heard.passage.tempo * heard.findings.speed)
    steady = instead.spread_s <= STEADY * float(spread_s(beat_s))
    return "You kept a steady beat." if steady and instead.row is Row.BEAT else ""


def begin_with(heard: Heard, instead: Instead) -> int | None:
    """Return the bar to begin with: the first whole one whose rhythm is not what was clapped."""
    there = {bar.number for bar in heard.passage.bars}
    bars = [bar for bar in instead.bars if bar in there]
    return next((bar for bar in bars if bar != UPBEAT), bars[0] if bars else None)


def _to_do(heard: Heard, instead: Instead) -> str:
    """Return the next step: one bar, its counts said, and where in it to clap."""
    verb, bar = heard.playing.verb, begin_with(heard, instead)
    if bar is None:
        return f"Say its counts aloud, and {verb} only its notes."
    index = next(n for n, each in enumerate(heard.passage.bars) if each.number == bar)
    notes = [note for note in notes_of(heard.passage.bars) if note.index == index]
    where = listed([count_in_words(heard.passage, bar, note.count) for note in notes])
    only = f"on {where}" if len(notes) <= MOST_NAMED else "its notes"
    return f"Begin with {bar_in_words(bar)}: say its counts aloud, and {verb} only {only}."
