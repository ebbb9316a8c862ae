"""An entry beside its recorded accompaniment: what sounds, and which bars of it can lead in."""

from dataclasses import replace

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.entering.one_try import (
    LAYERS,
    MAY_SOUND,
    WITH_RECORDING,
    Goal,
    try_part,
)
from rhythmtrain.rehearsal.live.recorded import UnderTries, named_or_given
from rhythmtrain.rehearsal.passages.from_scores import Say
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES, RecordingFiles
from rhythmtrain.rehearsal.recorded.sounding import sound_doubts
from rhythmtrain.rehearsal.tracks.track import NOT_HEARD, layers_named
from rhythmtrain.remedies import option
from rhythmtrain.score.passage import numbered

BESIDE = (
    f"The recorded accompaniment plays; {option('layers', 'click,count,cue')} practises without it."
)


def layers_of(name: str, named: str | None, files: RecordingFiles, *, say: Say) -> frozenset[Layer]:
    """Return what may sound: the recording wherever there is one, unless layers are ``named``.

    Raises:
        RequestError: a layer that cannot sound here, or files that belong to none.
    """
    recorded = named_or_given(name, files)
    if named is None:
        if recorded:
            say(BESIDE)
        elif files.beats is not None:
            raise RequestError(
                f"{option('beats')} is the beat map of a recording: add "
                f"{option('accompaniment', 'FILE')}"
            )
        for doubt in sound_doubts(name, files) if recorded else ():
            say(doubt)
        return WITH_RECORDING if recorded else LAYERS
    layers = layers_named(named)
    strange = sorted(layers - MAY_SOUND)
    if strange:
        allowed = ", ".join(each.value for each in Layer if each in MAY_SOUND)
        raise RequestError(
            f"{strange[0].value} would play your entry for you: choose layers from {allowed}"
        )
    if files != NO_FILES and Layer.ACCOMPANIMENT not in layers:
        raise RequestError(NOT_HEARD)
    return layers


def fitted(goal: Goal, recorded: UnderTries) -> tuple[Goal, UnderTries, float]:
    """Return the goal with only lead-ins that the recording plays as written, and the speed."""
    part = try_part(goal, Try(0, 0, from_top=True))
    top = recorded.unbroken(part, goal.entry.bar)
    goal = replace(goal, top=numbered(goal.passage, top))
    part = try_part(goal, Try(0, 0, from_top=True))
    recorded = recorded.at_speed_of(part)
    timeline = recorded.under(part, lead_in=0).timeline
    as_recorded = replace(goal.passage, tempo=timeline.passage.tempo)
    return replace(goal, passage=as_recorded), recorded, timeline.practice.speed
