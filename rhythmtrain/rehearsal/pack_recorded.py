"""A pack's tracks over the recorded accompaniment: its tempo, its beats, slowed for each rung.

The ladder climbs to the tempo at which the recording was played.  Nothing waits for an answer in a
recording, so its ladder has no echo.
"""

from dataclasses import dataclass, replace

from rhythmtrain.coach.practice_order import Step
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.accompaniment import NO_FILES, RecordingFiles, accompaniment_for
from rhythmtrain.rehearsal.pack_tracks import PackTrack, pack_wishes
from rhythmtrain.rehearsal.passages import Wish
from rhythmtrain.rehearsal.track import Quality
from rhythmtrain.rehearsal.track_recorded import (
    accompanied,
    laid_pieces,
    mean_quarters_a_minute,
    played,
    with_bars,
)
from rhythmtrain.render.recorded import Played
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.tempo import beats_a_minute
from rhythmtrain.units import Bpm

# One channel, as the other tracks of a pack, but with the brightness of an instrument.
RECORDED = Quality(rate=44_100, channels=1)
NOT_BESIDE = (Step.ECHO,)
LEAD_IN = 1

Sounded = tuple[Plan, tuple[Played, ...]]


@dataclass(frozen=True, slots=True)
class Beside:
    """The recording of a passage: found by the name ``source`` or in ``files``.

    ``whole`` is the passage before bars were cut out.
    """

    source: str
    whole: Passage
    files: RecordingFiles = NO_FILES


def at_recorded_tempo(passage: Passage, beside: Beside) -> Passage:
    """Return ``passage`` with the mean tempo of the recording in place of what is written.

    Raises:
        RequestError, FileError, TakeError: there is no recording or map of it that fits.
    """
    found = accompaniment_for(beside.source, passage, whole=beside.whole, files=beside.files)
    mean = beats_a_minute(mean_quarters_a_minute(passage, found.mapped), passage.metre)
    bars = tuple(replace(bar, tempo=None) for bar in passage.bars)
    return replace(passage, bars=bars, tempo=Bpm(round(mean, 1)))


def recorded_track(
    passage: Passage, track: PackTrack, layers: frozenset[Layer], beside: Beside
) -> Sounded:
    """Return what one hears in ``track`` of a passage at its recorded tempo, and the recordings."""
    return over_recording(
        passage,
        beside,
        pack_wishes(passage, track, layers),
        speed=track.tempo / passage.tempo,
        repeats=track.recipe.repeats,
    )


def over_recording(
    passage: Passage, beside: Beside, wishes: Wishes, *, speed: float, repeats: int = 1
) -> Sounded:
    """Return a plan on the mapped beats at ``speed`` times the recording's tempo, and its pieces.

    A bar before the passage leads in: the recording's own, or else counted.
    """
    wish = Wish(beside.source, speed=speed, repeats=repeats)
    found = accompanied(wish, passage, beside.whole, files=beside.files, lead_in=LEAD_IN)
    timeline = found.timeline
    laid = laid_pieces(timeline, found.found.mapped, Layer.ACCOMPANIMENT)
    pieces = played(laid, found.found.recording, rate=RECORDED.rate)
    return with_bars(plan_track(timeline, wishes), laid, timeline), pieces
