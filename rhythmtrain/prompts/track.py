"""A whole practice track as data: every layer laid along the timeline."""

from collections.abc import Iterator

from rhythmtrain.prompts.audible import Audible, audible_bars
from rhythmtrain.prompts.clicks import clicks
from rhythmtrain.prompts.counts import counts
from rhythmtrain.prompts.echo import turns
from rhythmtrain.prompts.entry_times import entry_times
from rhythmtrain.prompts.landmarks import with_landmarks
from rhythmtrain.prompts.midi_grid import markers, metres, tempi
from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.prompts.preparation import off_entries, preparations
from rhythmtrain.prompts.rhythm import claps, cues, tune
from rhythmtrain.prompts.tempo_words import tempo_words
from rhythmtrain.prompts.thinning import thinned, with_room
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.prompts.words import spoken
from rhythmtrain.timing.timeline import Role, Timeline

ORDER = tuple(Layer)


def plan_track(timeline: Timeline, wishes: Wishes | None = None) -> Plan:
    """Return everything that should be heard when ``timeline`` is practised.

    Times are track time: seconds from the start of the timeline's first bar.
    """
    wishes = wishes or Wishes()
    audible = audible_bars(timeline, wishes)
    prompts = [
        *clicks(timeline, audible, wishes.subdivide),
        *claps(timeline, audible),
        *tune(timeline, audible),
        *cues(timeline, audible),
        *_words(timeline, audible, wishes),
    ]
    opening = next(played for played in timeline.bars if played.role is not Role.COUNT_IN)
    return Plan(
        title=timeline.passage.title,
        tempo_words=tempo_words(timeline.passage, timeline.practice.speed, british=wishes.british),
        count_in_s=timeline.track_seconds(opening.start),
        duration_s=timeline.track_seconds(timeline.stop),
        prompts=tuple(sorted(prompts, key=lambda each: (each.time_s, ORDER.index(each.layer)))),
        tempi=tempi(timeline),
        metres=metres(timeline),
        markers=markers(timeline),
        entries_s=tuple(entry_times(timeline)),
    )


def _words(timeline: Timeline, audible: tuple[Audible, ...], wishes: Wishes) -> Iterator[Prompt]:
    words = [
        *counts(timeline, audible, wishes),
        *preparations(timeline, audible),
        *turns(timeline, audible),
    ]
    end_s = timeline.track_seconds(timeline.stop)
    words = with_room(thinned(off_entries(timeline, words), end_s))
    if wishes.landmarks and Layer.COUNT in wishes.layers:
        words = with_landmarks(timeline, words, wishes.unspoken)
    return (spoken(timeline, word) for word in words)
