"""Passages that come from a score, named alone or by a drill."""

from collections.abc import Callable
from pathlib import Path

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.rehearsal.passages.from_midi import passage_of_midi
from rhythmtrain.score.cue_part import CueLine, cue_part_of
from rhythmtrain.score.drill.drill import Drill
from rhythmtrain.score.drill.from_score import music_seen, with_drill
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.musicxml.parts import choose_part
from rhythmtrain.score.musicxml.passage import part_passage
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.drills import beside
from rhythmtrain.storage.scores import is_midi, is_score, load_score

# Given each sentence that is to be said beside an answer.
Say = Callable[[str], None]


def unsaid(_sentence: str) -> None:
    """Say it to nobody."""


def passage_of_score(path: Path, part: str | None, cue_part: str | None, say: Say) -> Passage:
    """Return a part of the score at ``path``, with a line of another ("Piano:lower") as its cue.

    Raises:
        RequestError: no such part.
        FileError: the score does not read.
    """
    if is_midi(path.name):
        return passage_of_midi(path, part, cue_part, say)
    score = load_score(path)
    player, taken = choose_part(score, part)
    wanted = cue_part_of(cue_part) if cue_part is not None else None
    cue = choose_part(score, wanted.name)[0] if wanted is not None else None
    reading = part_passage(score, player, cue, wanted.line if wanted else CueLine.TOP)
    for sentence in ((taken,) if taken else ()) + reading.remarks:
        say(sentence)
    return reading.passage


def passage_of_drill(
    drill: Drill, path: Path, parts: tuple[str | None, str | None], say: Say
) -> Passage:
    """Return the passage of a drill that names a score; ``parts`` come before the drill's own.

    Raises:
        DrillError: what the drill says does not go with the score.
        RequestError, FileError: the score does not read, or has no such part.
    """
    named = drill.score
    if named is None or not is_score(named.score):
        raise DrillError(
            "its score must be a MusicXML, ABC or MIDI file (.musicxml, .mxl, .abc, .mid)",
            file=drill.name,
        )
    part, cue_part = parts
    passage = passage_of_score(
        beside(path, named.score), part or named.part, cue_part or named.cue_part, say
    )
    try:
        if named.bars is not None:
            passage = excerpt(passage, *named.bars)
        seen = music_seen(passage)
        passage = with_drill(passage, drill)
    except RequestError as error:
        raise DrillError(str(error), file=drill.name) from None
    except DrillError as error:
        raise DrillError(error.message, bar=error.bar, file=drill.name) from None
    if named.seen is not None and named.seen != seen and part is None:
        say(
            f"{named.score} has changed in these bars since {drill.name} was written: look at them "
            f'again, then write seen = "{seen}" in the drill'
        )
    return passage


def seen_now(drill: Drill, passage: Passage) -> str:
    """Return what a drill that names a score may say so that it is told of changes, or ""."""
    if drill.score is None or drill.score.seen is not None:
        return ""
    return (
        f'to be told when the score changes, write seen = "{music_seen(passage)}" in {drill.name}'
    )
