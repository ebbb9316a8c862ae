"""The rhythm itself: a clap at each note, the tune where the passage has pitches, and the cue."""

from collections.abc import Iterable, Iterator

from rhythmtrain.prompts.audible import Audible
from rhythmtrain.prompts.plan import Layer, Prompt
from rhythmtrain.timing.timeline import PlayedNote, Timeline

NOTE = "note"


def claps(timeline: Timeline, audible: tuple[Audible, ...]) -> Iterator[Prompt]:
    """Yield a clap at each note."""
    for played in _heard(timeline.notes, audible, Layer.CLAP):
        yield _note(timeline, played, Layer.CLAP)


def tune(timeline: Timeline, audible: tuple[Audible, ...]) -> Iterator[Prompt]:
    """Yield the notes that have pitches, each as long as written."""
    for played in _heard(timeline.notes, audible, Layer.TUNE):
        if played.note.pitches:
            yield _note(timeline, played, Layer.TUNE)


def cues(timeline: Timeline, audible: tuple[Audible, ...]) -> Iterator[Prompt]:
    """Yield the accompanist's notes, each as long as written."""
    for played in _heard(timeline.cues, audible, Layer.CUE):
        yield _note(timeline, played, Layer.CUE)


def _heard(
    notes: Iterable[PlayedNote], audible: tuple[Audible, ...], layer: Layer
) -> Iterator[PlayedNote]:
    return (played for played in notes if layer in audible[played.place].layers)


def _note(timeline: Timeline, played: PlayedNote, layer: Layer) -> Prompt:
    start = timeline.track_seconds(played.at)
    length = timeline.track_seconds(played.at + played.note.length) - start
    return Prompt(
        start,
        layer,
        NOTE,
        played.note.bar,
        played.note.count,
        played.run,
        length_s=0.0 if layer is Layer.CLAP else length,
        accent=played.note.accent,
        pitches=() if layer is Layer.CLAP else played.note.pitches,
    )
