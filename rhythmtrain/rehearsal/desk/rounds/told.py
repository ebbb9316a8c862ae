"""One time through of a loop that goes on: what comes first of it, said in the counted bar after it."""

from collections.abc import Sequence
from typing import Any

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.checking.checked import Asked as AskedOf
from rhythmtrain.rehearsal.clapping.loop import AROUND_S, Rounds
from rhythmtrain.rehearsal.desk.arriving import MIC
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.journal import Journal
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.desk.page_delay import delay_of
from rhythmtrain.rehearsal.desk.performed import (
    SOURCES,
    Lines,
    heard_of,
    recorded_of,
    taps_of,
)
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.tracks.sound import RATE

# So wide is a line of what is said.
COLUMNS = 80
# A microphone's sound is heard from a little before the first note on.
BEFORE_S = 1.0
Document = dict[str, Any]


def round_told(sitting: Sitting, tracks: Lately[Made], asked: Asked) -> Document:
    """Return what was heard the "round"-th time through of the take "take", which goes on.

    Nothing is said where nobody clapped, or where it cannot be told so soon.

    Raises:
        RequestError: there is no such take, or nothing comes round in it.
    """
    journal = Journal(sitting.folders.takes, asked.text("take"))
    lines = journal.lines()
    begun = lines[0]
    made = tracks.get(str(begun["track"]))
    if made.loop is None:
        raise RequestError("this track does not come round: what was heard is told at its end")
    run = min(max(asked.whole("round"), 1), made.timeline.practice.repeats)
    try:
        claps_s = _claps(journal, lines, made, run)
    except TakeError:
        return {"said": ""}
    of = AskedOf(made.wish.passage, made.wish.bars, begun["kind"], part=made.wish.options)
    rounds = Rounds(made.timeline, SOURCES[begun["source"]], of, timing=made.timing)
    return {"said": " ".join(rounds.said(run, claps_s, COLUMNS))}


def _claps(journal: Journal, lines: Lines, made: Made, run: int) -> Sequence[float]:
    """Return when somebody clapped, in track time: of a microphone, that time through alone."""
    begun, *later = lines
    if begun["source"] != MIC:
        return taps_of(begun, later, made, delay_of(begun["source"])).times_s
    mine = [each for each in made.timeline.bars if each.index is not None and each.run == run]
    first_s = max(0.0, float(made.timeline.track_seconds(mine[0].start)) - BEFORE_S)
    last_s = float(made.timeline.track_seconds(mine[-1].stop)) + AROUND_S
    first = round(first_s * RATE)
    recorded = recorded_of(journal, begun)[first : round(last_s * RATE)]
    heard = heard_of(recorded, begun, later, made, first=first)
    return [each + first / RATE for each in heard.take.times_s]
