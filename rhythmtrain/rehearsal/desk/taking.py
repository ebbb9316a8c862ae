"""A take at the page that ended: held against the passage, and kept.

The page told what happened and when by its own clocks; everything that is made of it is made
here, by the same rooms that hear a take at the command line.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from rhythmtrain.capture.browser_clock import browser_clock
from rhythmtrain.capture.take import Take
from rhythmtrain.capture.taps import TapPath, take_of_taps
from rhythmtrain.devices.ports import Ended, How, Tap
from rhythmtrain.errors import RequestError, RhythmtrainError, TakeError
from rhythmtrain.prompts.plan import Plan
from rhythmtrain.rehearsal.checking.checked import Asked as AskedOf
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.desk.arriving import KEYS, MIC, MIDI, TOUCH, last_came
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.journal import Journal
from rhythmtrain.rehearsal.desk.levels import as_heard
from rhythmtrain.rehearsal.desk.made_track import TRACK, TRY, Made
from rhythmtrain.rehearsal.desk.page_delay import HEARD_FROM, PAGE, delay_of
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.live.beside import Ear, heard_beside
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.judged import judged_live
from rhythmtrain.rehearsal.live.keeping import NOT_KEPT, Kept, keep_live
from rhythmtrain.rehearsal.live.lost_sound import lost_in_words
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.report import take_file
from rhythmtrain.rehearsal.live.sound_delay import Delay
from rhythmtrain.rehearsal.tracks.sound import RATE

SOURCES = {KEYS: "keys", MIDI: "midi", TOUCH: "keys", MIC: "audio"}
# A tap's own stamp: keyboards are asked every few milliseconds.
STAMP_ERROR_S = {KEYS: 0.004, TOUCH: 0.008, MIDI: 0.001}
Again = Callable[[Sitting, Asked], Made]


@dataclass(frozen=True, slots=True)
class Finished:
    """A take that was ended: how it was played, what was heard, what became of it."""

    performance: Performance
    checked: Checked
    kept: Kept

    @property
    def notes(self) -> tuple[str, ...]:
        """Return what is to be said of how it was heard."""
        return self.performance.notes

    def sound_file(self, folder: Path) -> Path:
        """Return where its sound lies, written to ``folder``; a name alone where it has none."""
        return take_file(self.performance, folder, 1)


def take_ended(sitting: Sitting, tracks: Lately[Made], asked: Asked) -> Finished:
    """End the take "take", hold it against its passage, keep it in the history, and return it.

    "stopped" says that it was broken off.

    Raises:
        TakeError: nothing was played; the take is over all the same.
    """
    journal = last_came(sitting, asked)
    lines = journal.lines()
    made = tracks.get(str(lines[0]["track"]))
    try:
        return _finished(journal, lines, made, stopped=asked.truth("stopped"))
    finally:
        journal.gone()


def takes_left(
    sitting: Sitting, again: Mapping[str, Again], say: Callable[[str], None]
) -> tuple[Finished, ...]:
    """Finish what was never ended: check it as far as it went, keep it, and ``say`` so.

    ``again`` makes the track anew that it was played to, by what kind of track it was.  A take in
    which nothing was played is removed without a word.
    """
    found = []
    for journal in sitting.journals.unfinished():
        try:
            lines = journal.lines()
            values = lines[0]["values"]
            made = again[values.get("made_as", TRACK)](sitting, Asked(values))
            found.append(_finished(journal, lines, made, stopped=True))
        except (RhythmtrainError, KeyError, IndexError, TypeError, ValueError):
            continue
        finally:
            journal.gone()
    if found:
        many = "one take" if len(found) == 1 else f"{len(found)} takes"
        say(
            f"The page was closed while you played: {many} was checked as far as it went, and kept."
        )
    return tuple(found)


def _finished(
    journal: Journal, lines: list[dict[str, Any]], made: Made, *, stopped: bool
) -> Finished:
    begun, *later = lines
    gathered = Gathered(RATE, name=PAGE, heard_from=HEARD_FROM[begun["source"]], system=PAGE)
    gathered.ended = Ended(How.STOPPED if stopped else How.FINISHED)
    gathered.frames = _frames_played(begun, later)
    if begun["source"] == MIC:
        performance = _heard(journal, begun, later, made, gathered)
    else:
        performance = _tapped(begun, later, made, gathered)
    asked = AskedOf(
        made.wish.passage,
        made.wish.bars,
        begun["kind"],
        part=made.wish.options,
        one_go=made.values.get("made_as") == TRY,
    )
    checked = judged_live(
        performance, made.timeline, asked, timing=made.timing, recording=made.recording
    )
    wish = replace(made.wish, kind=begun["kind"])
    kept = NOT_KEPT if performance.unjudged else keep_live(checked, wish, helped=made.helped)
    return Finished(performance, checked, kept)


def _frames_played(begun: dict[str, Any], later: list[dict[str, Any]]) -> int:
    """Return how many frames of the track had been played when its clock was last read."""
    read_s = (float(context_s) for line in later for context_s, _ in line.get("clock", []))
    return round(max(0.0, max(read_s, default=0.0) - float(begun["start_s"])) * RATE)


def taps_alone(sitting: Sitting, tracks: Lately[Made], asked: Asked) -> tuple[str, Take, Plan]:
    """End the take "take" of taps; return what it was tapped on, the taps as they came, the track.

    No sound delay is taken off them: it is what they are to tell.

    Raises:
        TakeError: the browser did not tell when its sound was heard.
    """
    journal = last_came(sitting, asked)
    begun, *later = journal.lines()
    made = tracks.get(str(begun["track"]))
    journal.gone()
    return begun["source"], _taps(begun, later, made, Delay(0.0, 0.0, known=True)), made.plan


def _tapped(
    begun: dict[str, Any], later: list[dict[str, Any]], made: Made, gathered: Gathered
) -> Performance:
    delay = delay_of(begun["source"])
    return Performance(gathered, _taps(begun, later, made, delay), delay)


def _taps(begun: dict[str, Any], later: list[dict[str, Any]], made: Made, delay: Delay) -> Take:
    """Return the taps of a take in track time, less ``delay``."""
    source = begun["source"]
    if source not in STAMP_ERROR_S:
        raise RequestError("a sound delay is tapped on keys, the screen or MIDI")
    readings = [(context, page) for line in later for context, page in line.get("clock", [])]
    model = browser_clock(readings, start_s=begun["start_s"], rate=RATE)
    taps = [
        Tap(at, what, hard, up) for line in later for at, what, up, hard in line.get("taps", [])
    ]
    unsure_s = delay.error_s if delay.known else 0.0
    path = TapPath(
        SOURCES[source], HEARD_FROM[source], STAMP_ERROR_S[source], delay.delay_s, unsure_s
    )
    return take_of_taps(taps, model, path, duration_s=float(made.plan.duration_s))


def _heard(
    journal: Journal,
    begun: dict[str, Any],
    later: list[dict[str, Any]],
    made: Made,
    gathered: Gathered,
) -> Performance:
    start_frame = round(begun["start_s"] * RATE)
    recorded = journal.sound(start_frame, RATE)
    if not len(recorded):
        raise TakeError("nothing came from the microphone: is it allowed for this page, and on?")
    gathered.blocks = [recorded]
    levels = [tuple(row) for row in begun["levels"]]
    levels += [tuple(row) for line in later for row in line.get("levels", [])]
    track = as_heard(made, levels, begun["start_s"])
    ear = Ear(begun["kind"], aloud=begun["aloud"])
    heard = heard_beside(recorded, track, RATE, ear=ear, kept=None)
    remarks = (*lost_in_words(heard.lost, made.timeline), *heard.remarks)
    return Performance(gathered, heard.take, heard.delay, remarks, (), heard.unjudged)
