"""Progress in words: how even a bar is, what was not heard, how entries and tempi stand."""

from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.coach.skill import PassageState
from rhythmtrain.remedies import remedy
from rhythmtrain.report.days.history_text import day_in_words
from rhythmtrain.report.days.view import BarRow, EntryRow, Progress, TempoOnDay
from rhythmtrain.report.words import bar_in_words, milliseconds, number, sentence, several

NOTHING_YET = (
    "There is nothing to look back on yet, and that is where everybody begins. Clap a short "
    f"passage slowly, {remedy('clap-slowly')}, or have a recording heard with "
    f"{remedy('check-a-take')}; from then on this page tells what gets better and "
    "what to do next."
)
TRENDS = {1: "more even than at first", 0: "", -1: "less even than at first"}
NEAR_S = 0.0005


def even_in_words(row: BarRow, settings: Settings = USUAL) -> str:
    """Return how even a bar is: only what is surely beyond a steady player is called uneven."""
    even = row.skill.evenness if row.skill else None
    if even is None:
        return "too little heard to tell"
    words = "not sure yet"
    if even.low > settings.uneven:
        words = "uneven"
    elif even.high < settings.uneven:
        words = "even"
    return ", ".join(each for each in (words, TRENDS[row.trend]) if each)


def habit_in_words(habit_s: float | None) -> str:
    """Return on which side of the beat a bar lies: "12 ms early"."""
    if habit_s is None:
        return ""
    if abs(habit_s) < NEAR_S:
        return "on the beat"
    return f"{milliseconds(habit_s)} {'late' if habit_s > 0 else 'early'}"


def missed_in_words(row: BarRow) -> str:
    """Return what was not heard on the last days."""
    missed, notes = row.recent
    if not notes:
        return "nothing heard"
    return f"{missed} of {notes} not heard" if missed else "every note there"


def entry_in_words(row: EntryRow) -> str:
    """Return how an entry goes, without help first: best and last."""
    parts = [
        f"{words} in time {right} of {tries}"
        for words, (right, tries) in (
            ("without help", row.tries(alone=True)),
            ("otherwise", row.tries(alone=False)),
        )
        if tries
    ]
    if row.best_s is not None:
        parts.append(f"best {habit_in_words(row.best_s)}")
    last = row.days[-1]
    shown = {"missed": "not heard"}.get(last.last_verdict, last.last_verdict)
    if last.last_s is not None and shown in ("early", "late"):
        shown = habit_in_words(last.last_s)
    return ", ".join([*parts, f"last {shown}"] if shown else parts)


def tempo_sentences(progress: Progress) -> tuple[str, ...]:
    """Return what tempo is reached, the fastest without a fault, and the last one."""
    state = progress.state
    lines = [_sure(state)]
    best, last = progress.best, progress.last
    if best is not None:
        lines.append(f"The fastest without a fault: {best.tempo}, on {_day(best)}.")
    if last is not None:
        lines.append(
            f"The last: {last.tempo}, on {_day(last)}, {_right(last)} of "
            f"{several(last.takes, 'take')} without a fault."
        )
    return tuple(lines)


def _sure(state: PassageState) -> str:
    if state.at_tempo:
        return f"It stands at its tempo, {state.tempo:.3g} beats a minute."
    sure = f"{state.reached:g} is sure" if state.reached is not None else "No tempo is sure yet"
    return f"{sure}; the written tempo is {state.tempo:.3g} beats a minute."


def _right(each: TempoOnDay) -> str:
    return number(each.right) if each.right else "none"


def span_in_words(progress: Progress) -> str:
    """Return how much practice this is about: "12 takes on 5 days, 1 Mar to 9 Mar 2026"."""
    days = progress.days
    takes = several(progress.takes, "take")
    if not days:
        return sentence(takes)
    if len(days) == 1:
        return sentence(f"{takes} on {day_in_words(days[0].isoformat())}")
    first, last = (day_in_words(day.isoformat()) for day in (days[0], days[-1]))
    return sentence(f"{takes} on {several(len(days), 'day')}, from {first} to {last}")


def entry_name(row: EntryRow) -> str:
    """Return which entry it is: "bar 9, 2&"."""
    return f"{bar_in_words(row.bar)}, {row.count}"


def _day(each: TempoOnDay) -> str:
    return day_in_words(each.day.isoformat(), year=False)
