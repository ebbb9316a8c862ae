"""A take at the page that ended: held against the passage, and kept.

The page told what happened and when by its own clocks; everything that is made of it is made
here, by the same rooms that hear a take at the command line.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from rhythmtrain.capture.take import Take
from rhythmtrain.devices.ports import Ended, How
from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.prompts.plan import Plan
from rhythmtrain.rehearsal.checking.checked import Asked as AskedOf
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.desk.arriving import last_came
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.journal import Journal
from rhythmtrain.rehearsal.desk.made_track import TRACK, TRY, Made
from rhythmtrain.rehearsal.desk.page_delay import HEARD_FROM, PAGE
from rhythmtrain.rehearsal.desk.performed import performed, taps_of
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.judged import judged_live
from rhythmtrain.rehearsal.live.keeping import NOT_KEPT, Kept, keep_live
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.report import take_file
from rhythmtrain.rehearsal.live.sound_delay import Delay
from rhythmtrain.rehearsal.tracks.sound import RATE

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
    kept = sum(each.kept.number is not None for each in found)
    if kept:
        many = "one take" if kept == 1 else f"{kept} takes"
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
    performance = performed(journal, lines, made, gathered)
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
    unkept = performance.unjudged or made.wish.theirs
    kept = NOT_KEPT if unkept else keep_live(checked, wish, helped=made.helped)
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
    return begun["source"], taps_of(begun, later, made, Delay(0.0, 0.0, known=True)), made.plan
