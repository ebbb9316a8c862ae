"""What to do next: one thing first, without milliseconds, then what else can wait.

The order is that of a teacher: is it the right piece; is everything a beat away; the entry; the
notes that are missing; figures read wrongly; notes that come early or late; the tempo that runs
away; unevenness.  The first that holds is "first", the others follow as long as they are short.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from statistics import median

from rhythmtrain.assess.figure_words import sentence as mistake_sentence
from rhythmtrain.assess.findings import EntryFinding, Verdict
from rhythmtrain.coach.ladder import next_mark
from rhythmtrain.report.flags import Flag
from rhythmtrain.report.praise import Heard, praise
from rhythmtrain.report.words import (
    bars_in_words,
    beats_in_words,
    count_in_words,
    listed,
    sentence,
    several,
    times,
)

UNTROUBLED = (Verdict.IN_TIME, Verdict.NOT_CHECKED)
DRIFT_PERCENT = 3.0
UNEVEN = 1.5
NORMAL_95 = 1.96
MOST_OTHERS = 3
FEW_BARS = 3
SLOWER = 0.8
FULL_SPEED = 0.97


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


def advice(heard: Heard, *, name: str) -> Advice:
    """Return what to say and do after a take of the passage that is typed as ``name``."""
    troubles = [trouble for find in _TROUBLES for trouble in find(heard)]
    if troubles and heard.findings.looks_like is False:
        troubles = troubles[:1]
    if not troubles:
        return Advice(praise(heard), _onward(heard), (), _onward_command(heard, name))
    others = tuple(each.words for each in troubles[1 : 1 + MOST_OTHERS])
    return Advice(praise(heard), troubles[0].words, others, _command(heard, name, troubles[0].bars))


@dataclass(frozen=True, slots=True)
class _Trouble:
    words: str
    bars: tuple[int, ...] = ()


def _another_piece(heard: Heard) -> Iterator[_Trouble]:
    if heard.findings.looks_like is False:
        tally = heard.findings.tally
        yield _Trouble(
            f"This does not sound like {heard.passage.title}: {tally.matched} of "
            f"{tally.expected} notes fit. Is it the right passage, and are the bars and the speed "
            "right (--bars, --speed)?"
        )


def _all_shifted(heard: Heard) -> Iterator[_Trouble]:
    shift = heard.findings.shift_beats
    if shift:
        side = "late" if shift > 0 else "early"
        yield _Trouble(
            f"All of it came {beats_in_words(abs(shift))} {side}. "
            "Count the bar before it aloud, and begin on its next one."
        )


def _entries(heard: Heard) -> Iterator[_Trouble]:
    for entry in heard.findings.entries:
        if entry.verdict in UNTROUBLED:
            continue
        told = f"Bar {entry.bar}: {_entry_words(entry)}. {_entry_help(entry)}"
        yield _Trouble(told, tuple(range(max(entry.bar - entry.rest_bars - 1, 1), entry.bar + 1)))


def _entry_words(entry: EntryFinding) -> str:
    if entry.verdict == Verdict.MISSED:
        return "the entry was not heard"
    if entry.verdict in (Verdict.EARLY, Verdict.LATE):
        return f"you came in a little {entry.verdict}"
    return f"you came in {entry.sentence or entry.verdict}"


def _entry_help(entry: EntryFinding) -> str:
    if entry.rest_bars > 1:
        return "Count its bars aloud: 1 2 3 4, 2 2 3 4 …, and breathe a beat before you come in."
    return "Count the rest aloud, and breathe a beat before you come in."


def _missing(heard: Heard) -> Iterator[_Trouble]:
    gone = [flag for flag in heard.flags if flag.verdict is Verdict.MISSED]
    bars = tuple(sorted({flag.bar for flag in gone}))
    if len(bars) > FEW_BARS:
        yield _Trouble(
            f"{several(len(gone), 'note').capitalize()} were not heard, in {bars_in_words(bars)}. "
            "Listen to the slow track first, then clap along with it.",
            bars,
        )
        return
    for bar in bars:
        here = [flag for flag in gone if flag.bar == bar]
        yield _Trouble(f"{_place(heard, here)} {_was(here)} not heard{_how_often(here)}.", (bar,))


def _figures(heard: Heard) -> Iterator[_Trouble]:
    for mistake in heard.findings.mistakes:
        yield _Trouble(sentence(mistake_sentence(mistake)), (mistake.bar,))


def _off(heard: Heard) -> Iterator[_Trouble]:
    told = {
        (note.bar, note.count)
        for mistake in heard.findings.mistakes
        for note in (heard.findings.notes[index] for index in mistake.notes)
    }
    told |= {(entry.bar, entry.count) for entry in heard.findings.entries}
    left = [flag for flag in heard.flags if (flag.bar, flag.count) not in told]
    for bar in sorted({flag.bar for flag in left}):
        for verdict in (Verdict.EARLY, Verdict.LATE):
            here = [flag for flag in left if (flag.bar, flag.verdict) == (bar, verdict)]
            if here:
                place = _place(heard, here)
                yield _Trouble(
                    f"{place} came {verdict.value}{_how_often(here)}. "
                    "Say the counts of that bar aloud, then clap it alone, slowly.",
                    (bar,),
                )


def _running(heard: Heard) -> Iterator[_Trouble]:
    drift = heard.findings.drift_percent
    if drift is not None and abs(drift) >= DRIFT_PERCENT:
        side = "faster" if drift > 0 else "slower"
        yield _Trouble(
            f"You got {side} as you went. Clap it once more with the click, counting aloud."
        )


def _uneven(heard: Heard) -> Iterator[_Trouble]:
    findings = heard.findings
    windows = [note.window_s for note in findings.notes if note.offset_s is not None]
    if not windows or findings.spread is None or findings.timing == "free":
        return
    if findings.spread.sd_s > UNEVEN * median(windows) / NORMAL_95:
        yield _Trouble("It was a little uneven all through: take it slower, with the click.")


def _extras(heard: Heard) -> Iterator[_Trouble]:
    bars = [extra.bar for extra in heard.findings.extras]
    if bars:
        many = len(bars)
        yield _Trouble(
            f"{several(many, 'clap').capitalize()} too many "
            f"{'was' if many == 1 else 'were'} heard, in {bars_in_words(bars)}.",
            tuple(sorted(set(bars))),
        )


_TROUBLES: tuple[Callable[[Heard], Iterator[_Trouble]], ...] = (
    _another_piece, _all_shifted, _entries, _figures, _missing, _off, _running, _uneven, _extras,
)  # fmt: skip


def _place(heard: Heard, here: list[Flag]) -> str:
    counts = listed([count_in_words(heard.passage, flag.bar, flag.count) for flag in here])
    return f"Bar {here[0].bar}: {counts}"


def _was(here: list[Flag]) -> str:
    return "was" if len(here) == 1 else "were"


def _how_often(here: list[Flag]) -> str:
    of = max(flag.of for flag in here)
    most = max(flag.times for flag in here)
    if of == 1:
        return ""
    if most == of:
        return ", both times" if of == 2 else f", all {times(of)}"  # noqa: PLR2004
    return f", {times(most)} in {of}"


def _onward(heard: Heard) -> str:
    if heard.findings.speed < FULL_SPEED:
        tempo = min(next_mark(heard.passage.tempo * heard.findings.speed), heard.passage.tempo)
        return f"Try it a little faster: {tempo:g} beats a minute."
    return "It stands at its tempo: play it once without any help, then with the accompaniment."


def _onward_command(heard: Heard, name: str) -> str:
    played = heard.passage.tempo * heard.findings.speed
    tempo = min(next_mark(played), heard.passage.tempo)
    return f"rhythmtrain track {_quoted(name)} -o next.flac --tempo {tempo:g} --repeats 4 --fade"


def _command(heard: Heard, name: str, bars: tuple[int, ...]) -> str:
    everything = {bar.number for bar in heard.passage.bars} <= set(bars)
    ends = "-".join(map(str, sorted({bars[0], bars[-1]}))) if bars else ""
    which = f" --bars {ends}" if bars and not everything else ""
    speed = max(round(heard.findings.speed * SLOWER, 1), 0.3)
    return f"rhythmtrain track {_quoted(name)} -o again.flac{which} --speed {speed:g} --repeats 4"


def _quoted(name: str) -> str:
    return f'"{name}"' if set(name) & set(" '&();$") else name
