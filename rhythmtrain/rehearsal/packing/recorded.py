"""A pack's tracks with recordings: the accompaniment's tempo and beats, slowed for each rung.

The ladder climbs to the tempo at which the recording was played.  An answer sounds over the same
bars as what was heard.  The teacher's model takes the tune's place, with an accompaniment or
without.
"""

from dataclasses import dataclass, replace

from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.packing.tracks import PackTrack, pack_timeline, pack_wishes
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES, RecordingFiles, accompaniment_for
from rhythmtrain.rehearsal.tracks.model import Taught, with_model
from rhythmtrain.rehearsal.tracks.recordings import (
    accompanied,
    laid_pieces,
    mean_quarters_a_minute,
    played,
    with_bars,
)
from rhythmtrain.rehearsal.tracks.sound import Quality
from rhythmtrain.render.recorded import Played
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.tempo import beats_a_minute
from rhythmtrain.timing.timeline import Timeline
from rhythmtrain.units import Bpm

# One channel, as the other tracks of a pack, but with the brightness of an instrument.
RECORDED = Quality(rate=44_100, channels=1)
LEAD_IN = 1

Sounded = tuple[Plan, tuple[Played, ...]]
NOTHING_LAID: tuple[Played, ...] = ()


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


def ladder_track(
    passage: Passage,
    track: PackTrack,
    layers: frozenset[Layer],
    *,
    beside: Beside | None = None,
    taught: Taught | None = None,
) -> Sounded:
    """Return what one hears in ``track`` of a passage, and the pieces of recordings in it.

    With an accompaniment ``passage`` is at its recorded tempo.  A MIDI file holds no model.
    """
    heard = taught if track.step is not None else None
    wishes = pack_wishes(passage, track, layers, taught=heard is not None)
    if beside is None:
        timeline, pieces = pack_timeline(passage, track), NOTHING_LAID
    else:
        recipe, speed = track.recipe, track.tempo / passage.tempo
        wish = Wish(beside.source, speed=speed, repeats=recipe.repeats, echo=recipe.echo)
        timeline, pieces = _laid_on(passage, beside, wish)
    plan = _planned(timeline, pieces, wishes)
    if heard is None:
        return plan, pieces
    plan, model = with_model(plan, timeline, wishes, heard, rate=RECORDED.rate)
    return plan, (*pieces, *model)


def over_recording(passage: Passage, beside: Beside, wishes: Wishes, *, speed: float) -> Sounded:
    """Return a plan on the mapped beats at ``speed`` times the recording's tempo, and its pieces.

    A bar before the passage leads in: the recording's own, or else counted.
    """
    timeline, pieces = _laid_on(passage, beside, Wish(beside.source, speed=speed))
    return _planned(timeline, pieces, wishes), pieces


def _laid_on(passage: Passage, beside: Beside, wish: Wish) -> tuple[Timeline, tuple[Played, ...]]:
    """Return the timeline on the mapped beats, a bar leading in, and the recording's pieces."""
    laid = accompanied(wish, passage, beside.whole, files=beside.files, lead_in=LEAD_IN)
    pieces = laid_pieces(laid.timeline, laid.found.mapped, Layer.ACCOMPANIMENT)
    return laid.timeline, played(pieces, laid.found.recording, rate=RECORDED.rate)


def _planned(timeline: Timeline, pieces: tuple[Played, ...], wishes: Wishes) -> Plan:
    return with_bars(plan_track(timeline, wishes), tuple(each.laid for each in pieces), timeline)
