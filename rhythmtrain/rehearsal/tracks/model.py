"""The teacher's own playing in a track, in place of the made tune: slowed to the track's tempo.

It sounds wherever the tune would: in every bar, or only in those in which the help has not faded.
"""

from dataclasses import dataclass, replace

from rhythmtrain.prompts.audible import audible_bars
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.recorded.accompaniment import model_for
from rhythmtrain.rehearsal.tracks.recordings import laid_pieces, played, with_bars
from rhythmtrain.render.recorded import Played
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Timeline


@dataclass(frozen=True, slots=True)
class Taught:
    """The passage called ``source``, which has a model beside it, before bars were cut out."""

    source: str
    whole: Passage


def with_model(
    plan: Plan, timeline: Timeline, wishes: Wishes, taught: Taught, *, rate: int
) -> tuple[Plan, tuple[Played, ...]]:
    """Return ``plan`` with the model in place of its tune, and the model's pieces at ``rate``.

    Where no tune is wished for, all is as it was.

    Raises:
        RequestError, FileError, TakeError: the model or its beat map does not read or does not fit.
    """
    if Layer.TUNE not in wishes.layers:
        return plan, ()
    audible = audible_bars(timeline, wishes)
    model = model_for(taught.source, timeline.passage, whole=taught.whole)
    laid = laid_pieces(
        timeline, model.mapped, Layer.TUNE, lambda place: Layer.TUNE in audible[place].layers
    )
    pieces = played(laid, model.recording, rate=rate)
    prompts = tuple(each for each in plan.prompts if each.layer is not Layer.TUNE)
    return with_bars(replace(plan, prompts=prompts), laid, timeline), pieces
