"""The desk: what one sitting at the page has before it."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Self

from rhythmtrain.rehearsal.desk.classes.classroom import Classroom
from rhythmtrain.rehearsal.desk.made_track import STEP, TRACK, TRY, Made
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.desk.sounding import track_asked
from rhythmtrain.rehearsal.desk.step_tracks import step_again
from rhythmtrain.rehearsal.desk.taking import Again, takes_left
from rhythmtrain.rehearsal.desk.try_tracks import try_again

if TYPE_CHECKING:
    from rhythmtrain.rehearsal.desk.entering import EntryCourse
    from rhythmtrain.rehearsal.desk.made_file import Fetched
    from rhythmtrain.rehearsal.desk.session import PageSession
    from rhythmtrain.rehearsal.desk.telling import HeardTake

# Enough for several pages at once, each with a track before it while others play theirs.
MOST_TRACKS = 32
# How the track of a take that was never ended is made once more.
AGAIN: Mapping[str, Again] = {
    TRACK: lambda sitting, asked: track_asked(sitting, asked)[0],
    STEP: step_again,
    TRY: try_again,
}


class Desk:
    """The sitting, with the tracks and takes that were made in it; use it in a ``with`` statement."""

    def __init__(self, home: Path | None = None) -> None:
        """Open a sitting; takes that were never ended, of no program that runs, are finished first."""
        self.sitting = Sitting(home)
        self.tracks: Lately[Made] = Lately("the track", MOST_TRACKS, Made.gone)
        self.takes: Lately[HeardTake] = Lately("the take")
        self.sessions: Lately[PageSession] = Lately("this session")
        self.courses: Lately[EntryCourse] = Lately("this practice")
        self.packs: Lately[Fetched] = Lately("the pack", let_go=lambda pack: pack.gone())
        self.classroom = Classroom(self.sitting)
        self.greetings: list[str] = []
        if self.sitting.is_first():
            takes_left(self.sitting, AGAIN, self.greetings.append)

    def __enter__(self) -> Self:
        """Return the desk itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Leave off what is still heard, and remove what was only for this sitting."""
        self.classroom.close()
        self.sitting.close()
