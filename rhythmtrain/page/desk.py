"""The desk: what one sitting at the page has before it."""

from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from rhythmtrain.rehearsal.desk.classroom import Classroom
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.desk.taking import takes_left

if TYPE_CHECKING:
    from rhythmtrain.rehearsal.desk.entering import EntryCourse
    from rhythmtrain.rehearsal.desk.session import PageSession
    from rhythmtrain.rehearsal.desk.telling import HeardTake

# Enough for several pages at once, each with a track before it while others play theirs.
MOST_TRACKS = 32


class Desk:
    """The sitting, with the tracks and takes that were made in it; use it in a ``with`` statement."""

    def __init__(self, home: Path | None = None) -> None:
        """Open a sitting; takes that were never ended are finished first."""
        self.sitting = Sitting(home)
        self.tracks: Lately[Made] = Lately("the track", MOST_TRACKS, Made.gone)
        self.takes: Lately[HeardTake] = Lately("the take")
        self.sessions: Lately[PageSession] = Lately("this session")
        self.courses: Lately[EntryCourse] = Lately("this practice")
        self.classroom = Classroom(self.sitting)
        self.greetings: list[str] = []
        takes_left(self.sitting, self.tracks, self.greetings.append)

    def __enter__(self) -> Self:
        """Return the desk itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Leave off what is still heard, and remove what was only for this sitting."""
        self.classroom.close()
        self.sitting.close()
