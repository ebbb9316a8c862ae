"""The takes of one clapping along: each laid out, once or in a loop, with all that sounds in it."""

from dataclasses import dataclass, replace
from functools import partial
from math import ceil

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.cueing.followed import with_what_sounds
from rhythmtrain.rehearsal.cueing.known import part_known
from rhythmtrain.rehearsal.live.recorded import sounding_on
from rhythmtrain.rehearsal.live.take import Sounding
from rhythmtrain.rehearsal.passages.from_scores import unsaid
from rhythmtrain.rehearsal.passages.passages import practice_of, whole_passage
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording
from rhythmtrain.rehearsal.tracks.recordings import accompanied
from rhythmtrain.rehearsal.tracks.track import counted_in, wishes_of
from rhythmtrain.remedies import option
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.playing_order import MOST_REPEATS
from rhythmtrain.timing.timeline import Timeline, lay_out

THEIRS = "the accompanist's rhythm"
LONGEST_LOOP_S = 30 * 60.0
# A recording is slowed once before it sounds, to know how loud it becomes: about 36 times as fast.
LONGEST_RECORDED_LOOP_S = 5 * 60.0


@dataclass(frozen=True, slots=True)
class Round:
    """One take to be made: of which timeline, with what sounding, called what, on which recording."""

    timeline: Timeline
    sounding: Sounding
    called: str
    timing: str = "click"
    recording: MappedRecording | None = None


def rounds_of(wish: ClapWish, passage: Passage) -> list[Round]:
    """Return the takes to be made: the accompanist's bars first where asked.

    Raises:
        RequestError: the passage has no cue.
    """
    rounds = [round_of(wish, passage)]
    if wish.cue:
        rounds.insert(0, round_of(wish, theirs(passage, wish.passage), called=THEIRS))
    return rounds


def theirs(passage: Passage, name: str) -> Passage:
    """Return the accompanist's rhythm in ``passage``, called ``name``, as a passage of its own.

    Raises:
        RequestError: the passage has no cue.
    """
    if not passage.cue:
        raise RequestError(
            f"{name} has no cue: leave out {option('cue')}, or write the accompanist's rhythm into the drill"
        )
    return replace(passage, bars=passage.cue, cue=(), marks=())


def round_of(
    wish: ClapWish, passage: Passage, *, called: str = "", times: int | None = None
) -> Round:
    """Return one take of ``passage`` to be made; ``times`` is how often a loop is laid out.

    Where nothing is said of that it is as often as anybody claps in one go.
    """
    if wish.recorded:
        return _recorded_round(wish, passage, called, times)
    practice = practice_of(counted_in(wish), passage)
    if wish.loop:
        rounds = times or _times(lay_out(passage, practice), LONGEST_LOOP_S)
        practice = replace(practice, repeats=rounds, between=1)
    timeline = lay_out(passage, practice)
    plan = plan_track(timeline, wishes_of(wish))
    sounding = Sounding(plan, wish.language, wish.voice)
    return Round(with_what_sounds(timeline, plan), sounding, called)


def _recorded_round(wish: ClapWish, passage: Passage, called: str, times: int | None) -> Round:
    """Return a take with the recorded accompaniment, whose beats click and counts follow.

    In a loop its bars before the passage come between.
    """
    whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
    laid = partial(
        accompanied,
        passage=passage,
        whole=whole,
        files=wish.files,
        even=wish.steady,
        lead_in=wish.lead_in,
    )
    found = laid(wish)
    if wish.loop:
        times = times or _times(found.timeline, LONGEST_RECORDED_LOOP_S)
        found = laid(replace(wish, repeats=times))
    plan = plan_track(found.timeline, wishes_of(wish))
    sounding = sounding_on(found, plan, language=wish.language, voice=wish.voice)
    part = part_known(wish.passage, None, unsaid, beside_too=not passage.cue)
    timeline = with_what_sounds(found.timeline, sounding.plan, part)
    return Round(timeline, sounding, called, "recording", found.found)


def _times(once: Timeline, longest_s: float) -> int:
    """Return how often ``once`` fits into ``longest_s``, at least twice."""
    return max(min(ceil(longest_s / once.track_seconds(once.stop)), MOST_REPEATS), 2)
