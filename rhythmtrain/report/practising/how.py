"""What to do in each step of a session, in the words of a teacher: one instruction at a time."""

from dataclasses import dataclass

from rhythmtrain.coach.stages import Stage
from rhythmtrain.coach.task import Task
from rhythmtrain.report.words import bars_in_words, several, times

TITLES: dict[Stage, str] = {
    Stage.LISTEN: "Listen",
    Stage.ECHO: "Echo",
    Stage.WITH_HELP: "Count aloud and clap",
    Stage.ALONE: "Clap without hearing it",
    Stage.SING: "Sing it",
    Stage.ONE_NOTE: "On one note",
    Stage.AS_WRITTEN: "As written, slowly",
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
    Stage.AS_WRITTEN: "{Play} it as it is written. {heard}",
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
CLAP_KEYS = "Any key is a clap: the space bar is a good one."
ALONE_HOW = (
    "You hear the click and the whole count, no longer the rhythm: clap it.",
    "You hear the click and the beats: count what lies between yourself, and clap.",
    "{heard} Count yourself, and clap.",
)


@dataclass(frozen=True, slots=True)
class Listening:
    """Who listens ("keys", "midi" or "mic"), to which instrument (None: claps).

    ``heard`` is whether it is heard, ``sung`` whether it is a voice.
    """

    source: str
    instrument: str | None = None
    heard: bool = True
    sung: bool = False

    @property
    def verb(self) -> str:
        """Return what one does on the ladder."""
        if self.instrument is None or not self.heard:
            return "clap"
        return self.plays

    @property
    def plays(self) -> str:
        """Return what one does with one's instrument."""
        return "sing" if self.sung else "play"


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
        Play=listening.plays.capitalize(),
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


def _sounding(listening: Listening) -> str:
    if listening.source != "mic":
        return CLICK_ALONE
    return BEATS_COUNTED if listening.instrument is not None else HALF_COUNTED
