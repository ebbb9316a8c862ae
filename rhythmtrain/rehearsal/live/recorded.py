"""The recorded accompaniment under what is played here and now.

The recording is slowed while it sounds, in blocks, and what is heard is held against the same
timeline that its clicks and counts were laid on: against where the accompanist really is.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from rhythmtrain.notate.notes.written_part import WrittenPart
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.rehearsal.live.take import Sounding
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.rehearsal.recorded.accompaniment import (
    RecordingFiles,
    accompaniment_for,
    has_accompaniment,
    mapped_bars,
)
from rhythmtrain.rehearsal.tracks.recordings import Accompanied, accompanied, laid_pieces, with_bars
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.repeats import as_played


@dataclass(frozen=True, slots=True)
class UnderTries:
    """The accompaniment of the tries at an entry: its files, the whole passage, how fast.

    ``part`` are the accompanist's notes, where they are known.
    """

    wish: Wish
    whole: Passage
    files: RecordingFiles
    part: WrittenPart | None = None

    @property
    def bars(self) -> tuple[int, int]:
        """Return the first and last bar, as printed, that the beat map holds."""
        return mapped_bars(self.wish.passage, self.whole, files=self.files)

    def under(self, part: Passage, *, lead_in: int) -> Accompanied:
        """Return ``part`` laid on the recording, counted bars of it before."""
        return accompanied(self.wish, part, self.whole, files=self.files, lead_in=lead_in)

    def at_speed_of(self, part: Passage) -> "UnderTries":
        """Return the same with the speed decided once, by the mean tempo of ``part``."""
        speed = self.under(part, lead_in=0).timeline.practice.speed
        return replace(self, wish=replace(self.wish, speed=speed, tempo=None))

    def unbroken(self, part: Passage, bar: int) -> int:
        """Return the first bar of ``part`` from which the recording goes on to ``bar`` as written.

        Where it plays a repeat in between, nothing before that leads in to the bar.
        """
        found = accompaniment_for(self.wish.passage, part, whole=self.whole, files=self.files)
        order = [part.bars[index] for index in as_played(part.bars)]
        first = order[0].number
        for (this, start), (after, later) in pairwise(zip(order, found.mapped.starts, strict=True)):
            if after.number > bar:
                break
            if start + this.length != later:
                first = after.number
        return first


def named_or_given(name: str, files: RecordingFiles) -> bool:
    """Tell whether there is an accompaniment: given as a file, or named in the drill."""
    return files.recording is not None or has_accompaniment(name)


def sounding_on(
    found: Accompanied, plan: Plan, *, language: str = "en", voice: Path | None = None
) -> Sounding:
    """Return ``plan`` with the recording laid in it, through every mapped beat."""
    pieces = laid_pieces(found.timeline, found.found.mapped, Layer.ACCOMPANIMENT)
    plan = with_bars(plan, pieces, found.timeline)
    return Sounding(plan, language, voice, found.found.recording)
