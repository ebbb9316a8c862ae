"""What a session says beside its instructions: why a step comes next, how it went, how all ended.

No numbers but bars, tempi and how often.
"""

from rhythmtrain.coach.stages import Stage
from rhythmtrain.coach.task import Done, Over, Reason, Task
from rhythmtrain.remedies import remedy
from rhythmtrain.report.words import bars_in_words, number, times

# Why a step is taken at all; said when it comes in its order.
STEP_WHY: dict[Stage, str] = {
    Stage.LISTEN: "What the ear knows the hands find sooner.",
    Stage.ECHO: "Whoever can give it back has heard it.",
    Stage.WITH_HELP: "Counting says where each note lies: the voice teaches the hands.",
    Stage.ALONE: "Without hearing it, it has to come from you.",
    Stage.SING: "What you can sing you can play.",
    Stage.ONE_NOTE: "First the rhythm on the instrument, without the fingering.",
    Stage.AS_WRITTEN: "The rhythm is there: now the notes come back.",
    Stage.THEIR_LINE: "Whoever knows the other part knows where to come in.",
    Stage.COUNT_REST: "A rest is counted, not waited for.",
    Stage.COME_IN: "The rest is counted: now come in after it.",
    Stage.LADDER: "Slowly it stands: now up to its tempo.",
}
REST = (
    "You have been at it for {minutes} minutes. Put everything down, move your shoulders, drink "
    "something; then go on."
)


def why_next(task: Task) -> str:
    """Return why ``task`` comes next, in one sentence."""
    return STEP_WHY[task.stage] if task.reason in IN_ORDER else _WHY[task.reason]


IN_ORDER = (Reason.BEGIN, Reason.IN_ORDER)
_WHY: dict[Reason, str] = {
    Reason.GO_ON: "First hear it again; then it goes on where you stopped last time.",
    Reason.AGAIN: "Once can be luck: again, to be sure of it.",
    Reason.LESS_HELP: "That went well, so there is a little less help.",
    Reason.MORE_HELP: "That was too much at once, so there is a little more help.",
    Reason.ALONE: "That is where it went wrong: alone and slower, until it goes.",
    Reason.SLOWER: "Not yet: slower still.",
    Reason.CONTEXT: "Now among the bars beside, at the tempo from before.",
    Reason.WHOLE: "Back to all of it.",
    Reason.ALL_SLOWER: "All of it was too fast: everything becomes slower.",
    Reason.FASTER: "The tempo before stands, so this is the next one up.",
    Reason.FULL: "Once at the written tempo, to hear what holds.",
    Reason.SLOW_TURN: "Slow and full tempo take turns: now slow.",
    Reason.HOLD: "It stood at its tempo last time: once more today, so that it stays.",
    Reason.END_WELL: "The faster one is left for today: end with a tempo that stands.",
}
_OVER: dict[Over, str] = {
    Over.DONE: "It stands at its written tempo: that is enough for today.",
    Over.LEFT: (
        "That is enough of it for today. A night does more for it than another round: go on "
        "tomorrow, from here."
    ),
    Over.SILENT: (
        f"Nothing was heard twice running, so it stopped. {remedy('choose-what-listens')}."
    ),
    Over.ENOUGH: "That was a long session: go on tomorrow, from here.",
}


def over_in_words(over: Over) -> str:
    """Return why the session is over, and what that means."""
    return _OVER[over]


def result_in_words(done: Done) -> str:
    """Return how a task went: "right twice in three; bar 6 went wrong"."""
    if done.silent:
        return "nothing was heard"
    if not done.runs:
        return "done"
    if done.task.stage is Stage.COME_IN:
        return f"in time {times(done.right)} in {number(done.runs)}"
    if done.right == done.runs:
        return "right" if done.runs == 1 else f"right {_all(done.runs)}"
    went = (
        "not yet right" if not done.right else f"right {times(done.right)} in {number(done.runs)}"
    )
    return f"{went}; {_failed(done)}" if _failed(done) else went


def rest_in_words(minutes: float) -> str:
    """Return the reminder to rest, after so many ``minutes``."""
    return REST.format(minutes=f"{minutes:.0f}")


def _failed(done: Done) -> str:
    if not done.failed or set(done.failed) == set(done.task.bars):
        return ""
    return f"{bars_in_words(done.failed)} went wrong"


def _all(runs: int) -> str:
    return "both times" if runs == 2 else f"all {times(runs)}"  # noqa: PLR2004  (both are two)
