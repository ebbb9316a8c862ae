"""What a session says: what to do, why it comes next, and how it ended.

One instruction at a time, in the words of a teacher; no numbers but bars, tempi and how often.
"""

from dataclasses import dataclass

from rhythmtrain.coach.stages import Stage
from rhythmtrain.coach.task import Done, Over, Reason, Task
from rhythmtrain.report.words import bars_in_words, number, several, times

SUNG = "sing"
TITLES: dict[Stage, str] = {
    Stage.LISTEN: "Listen",
    Stage.ECHO: "Echo",
    Stage.WITH_HELP: "Count aloud and clap",
    Stage.ALONE: "Clap without hearing it",
    Stage.SING: "Sing it",
    Stage.ONE_NOTE: "Play it on one note",
    Stage.AS_WRITTEN: "Play it as written, slowly",
    Stage.THEIR_LINE: "The accompanist's line",
    Stage.COUNT_REST: "Count the rest",
    Stage.COME_IN: "Come in",
    Stage.LADDER: "Back to tempo",
}
HOW: dict[Stage, str] = {
    Stage.LISTEN: "Hands still: only listen to the rhythm, the click and the count. Do nothing yet.",
    Stage.ECHO: "You hear two bars, then two bars stay empty: clap them back.",
    Stage.WITH_HELP: "Count aloud, and clap along with what you hear.",
    Stage.SING: "Sing the rhythm on one syllable, such as ta. {heard}",
    Stage.ONE_NOTE: "Play the rhythm on one easy note. {heard}",
    Stage.AS_WRITTEN: "Play it as it is written. {heard}",
    Stage.THEIR_LINE: "You hear what the accompanist plays before you come in: sing it with them.",
    Stage.COUNT_REST: (
        "Count the rest aloud with the voice: each bar begins with its number. Breathe where it "
        "says so, and do not come in yet."
    ),
    Stage.COME_IN: (
        "Come in after the rest, up to {runs}. Each try begins somewhere else and follows by "
        "itself; help thins as it goes well."
    ),
    Stage.LADDER: "{Verb} it. {heard}",
}
CLICK_ALONE = "You hear only the click."
BEATS_COUNTED = "You hear the click and the beats counted."
HALF_COUNTED = "You hear the click; every other bar is counted."
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
CLAP_KEYS = "Any key is a clap: the space bar is a good one."
ALONE_HOW = (
    "You hear the click and the whole count, no longer the rhythm: clap it.",
    "You hear the click and the beats: count what lies between yourself, and clap.",
    "{heard} Count yourself, and clap.",
)
REST = (
    "You have been at it for {minutes} minutes. Put everything down, move your shoulders, drink "
    "something; then go on."
)


@dataclass(frozen=True, slots=True)
class Listening:
    """Who listens ("keys", "midi" or "mic"), to which instrument (None: claps), and whether it is heard."""

    source: str
    instrument: str | None = None
    heard: bool = True

    @property
    def verb(self) -> str:
        """Return what one does on the ladder."""
        if self.instrument is None or not self.heard:
            return "clap"
        return SUNG if self.instrument == "voice" else "play"


def title_in_words(task: Task) -> str:
    """Return a task as a heading: "Clap without hearing it: bar 6 alone"."""
    title = TITLES[task.stage]
    if not task.bars:
        return title
    where = bars_in_words(task.bars)
    return f"{title}: {where}{'' if task.context else ' alone'}"


def often_in_words(task: Task) -> str:
    """Return how often it is to be done: "twice"; empty for once, and where tries follow by rule."""
    if task.runs == 1 or task.stage is Stage.COME_IN:
        return ""
    return times(task.runs)


def how_in_words(task: Task, listening: Listening) -> str:
    """Return what to do in ``task``."""
    words = ALONE_HOW[task.help] if task.stage is Stage.ALONE else HOW[task.stage]
    said = words.format(
        heard=_sounding(listening),
        Verb=listening.verb.capitalize(),
        runs=several(task.runs, "time"),
    )
    tells = task.stage is Stage.ECHO and listening.source == "keys"
    return f"{said} {CLAP_KEYS}" if tells else said


def unheard_in_words(stage: Stage, listening: Listening) -> str:
    """Return that nobody judges a step, and why; empty where there is nothing to be judged."""
    ears = {"keys": "the keys", "midi": "a MIDI pad", "mic": "the microphone"}[listening.source]
    if stage in (Stage.SING, Stage.THEIR_LINE):
        return f"Nobody judges this: {ears} cannot hear you sing."
    if stage in (Stage.ONE_NOTE, Stage.AS_WRITTEN):
        return f"Nobody judges this: {ears} cannot hear your {listening.instrument}."
    return ""


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
    Over.SILENT: "Nothing was heard twice running, so it stopped.",
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


def _sounding(listening: Listening) -> str:
    if listening.source != "mic":
        return CLICK_ALONE
    return BEATS_COUNTED if listening.instrument is not None else HALF_COUNTED
