"""A passage in plain text: what is written, how it is counted, where one comes in, what is hard.

Everything is plain ASCII, apart from what the drill's writer wrote, and at most 80 columns wide, so
that any terminal and any printer shows it aligned.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from textwrap import wrap

from rhythmtrain.report.passage.cue_words import lead_in_words
from rhythmtrain.report.passage.note_values import TIE, plural
from rhythmtrain.report.passage.systems import HARD, systems, tempo_words
from rhythmtrain.report.words import bars_in_words, rest_in_words, several
from rhythmtrain.score.counts import place_of, spoken_count
from rhythmtrain.score.difficulty.hard import HardSpot, hard_spots
from rhythmtrain.score.entries import Entry, entries_of
from rhythmtrain.score.metre import GROUP, NOTE_VALUES, value_name
from rhythmtrain.score.passage import Note, Passage, notes_of
from rhythmtrain.score.repeats import as_played

WIDTH = 80
NARROWEST = 60
# Sign, and what a legend says of it; only those that stand in the text are explained.
LEGEND = (
    ("(", "( ) count it, keep silent"),
    ("[", "[ ] count it, hold on"),
    (TIE, f"{TIE} tie"),
    (">", "> accent"),
    (HARD, "* hard, see below"),
)


def show_text(passage: Passage, *, british: bool = False, width: int = WIDTH) -> str:
    """Return the passage as text, at most ``width`` columns wide (never less than 60)."""
    width = max(width, NARROWEST)
    spots = hard_spots(passage, british=british)
    hard = frozenset(spot.bar for spot in spots)
    drawn = list(systems(passage, hard, british=british, width=width))
    blocks = [
        *_heading(passage, width, british=british),
        *drawn,
        legend("\n".join(drawn), width),
        _section("Entries", entry_lines(passage, british=british), width),
        _section("Where it is hard", hard_lines(spots), width),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _heading(passage: Passage, width: int, *, british: bool) -> Iterator[str]:
    words = [*wrap(passage.title, width), *wrap(passage.about, width)]
    yield "\n".join(words)
    metre, bars = passage.metre, passage.bars
    facts = [str(metre)]
    if metre.beat == GROUP:
        facts.append("each group a beat")
    elif metre.beat is not None:
        beat = value_name(NOTE_VALUES[metre.beat], british=british) or metre.beat
        facts.append(f"counted in {plural(beat)}")
    facts.append(tempo_words(metre, passage.tempo, british=british))
    upbeat = bool(bars[0].begins)
    length = several(len({bar.number for bar in bars}) - upbeat, "bar")
    facts.append(f"{length} and an upbeat" if upbeat else length)
    played = len(as_played(bars))
    if played != len(bars):
        facts.append(f"{several(played - upbeat, 'bar')} with the repeats")
    yield "\n".join(wrap(", ".join(facts), width))


def entry_lines(passage: Passage, *, british: bool = False) -> Iterator[str]:
    """Yield a sentence for every entry: where one comes in, after what, and what one hears."""
    notes, cues = notes_of(passage.bars), notes_of(passage.cue) if passage.cue else ()
    for entry in entries_of(passage):
        note = notes[entry.note]
        metre = passage.bars[note.index].metre
        said = spoken_count(metre, place_of(metre, entry.count))
        where = f"beat {said}" if said.isdigit() else said
        where = where if where.startswith(("beat", "the")) else f"the place {where}"
        inside = _inside(cues, note.at - entry.rest, note.at)
        cue = _cue(inside)
        heard = lead_in_words(inside, note.at, metre.length, british=british)
        cue += f" Listen for {heard}." if heard else ""
        yield f"Bar {entry.bar}: you come in on {where}{_after(entry)}.{cue}"


def _after(entry: Entry) -> str:
    if entry.rest_bars:
        return f", after {several(entry.rest_bars, 'bar')}{_possessive(entry.rest_bars)} rest"
    if entry.rest:
        return f", after {rest_in_words(float(entry.rest_beats))} of rest"
    return ""


def _possessive(count: int) -> str:
    return "'s" if count == 1 else "'"


def _inside(cues: tuple[Note, ...], begin: Fraction, end: Fraction) -> tuple[Note, ...]:
    """Return the notes of the cue that begin from ``begin`` until before ``end``."""
    first = bisect_left(cues, begin, key=lambda note: note.at)
    return cues[first : bisect_left(cues, end, key=lambda note: note.at)]


def _cue(cues: tuple[Note, ...]) -> str:
    """Return what the cue plays in the last bar of the rest in which it plays anything."""
    if not cues:
        return ""
    bar = [note for note in cues if note.index == cues[-1].index]
    return f" The cue in bar {bar[0].bar} is {' '.join(note.count for note in bar)}."


def hard_lines(spots: tuple[HardSpot, ...]) -> Iterator[str]:
    """Yield a line for every set of bars with what is hard in all of them, in order of bars."""
    where: dict[str, list[int]] = defaultdict(list)
    for spot in spots:
        for reason in spot.why:
            where[reason].append(spot.bar)
    lines: dict[tuple[int, ...], list[str]] = defaultdict(list)
    for reason, bars in where.items():
        lines[tuple(bars)].append(reason)
    for numbers, reasons in sorted(lines.items()):
        named = bars_in_words(numbers).replace("bar 0", "upbeat")
        yield f"{named[0].upper()}{named[1:]}: {'; '.join(reasons)}."


def _section(title: str, lines: Iterator[str], width: int) -> str:
    found = [
        part
        for line in lines
        for part in wrap(line, width, initial_indent="  ", subsequent_indent="    ")
    ]
    return "\n".join([title, *found]) if found else ""


def legend(drawn: str, width: int) -> str:
    """Return what the signs mean that stand in the text ``drawn``."""
    signs = [words for sign, words in LEGEND if sign in drawn]
    lines = [""]
    for words, _ in pairwise([*signs, ""]):
        line = f"{lines[-1]}    {words}" if lines[-1] else f"  {words}"
        if len(line) > width:
            lines.append(f"  {words}")
        else:
            lines[-1] = line
    return "\n".join(lines).rstrip()
