"""What came of a take that was played here and now, and what is to be said of how it was played."""

from dataclasses import dataclass

from rhythmtrain.capture.take import Take
from rhythmtrain.devices.ports import How
from rhythmtrain.hearing.live.way import Way
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.sound_delay import Delay

HEARD = "audio"


@dataclass(frozen=True, slots=True)
class Performance:
    """One take as it was played: what was gathered, and what was heard of it in track time.

    ``remarks`` are whole sentences on how it was heard; ``unsaid`` what the voice has no words for;
    ``unjudged`` says why what was heard is not held against the passage; ``way`` is what is known by
    now of the way from loudspeaker to microphone, which helps to show the next take;
    ``endless`` what goes on until somebody stops it.
    """

    gathered: Gathered
    take: Take
    delay: Delay
    remarks: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()
    unjudged: str = ""
    way: Way | None = None
    endless: bool = False

    @property
    def notes(self) -> tuple[str, ...]:
        """Return whole sentences on how it was played and heard."""
        return (*self.incidents, *self.remarks, *filter(None, (self.unjudged,)))

    @property
    def incidents(self) -> tuple[str, ...]:
        """Return one line for each thing that happened to the devices, or to the take.

        Where a microphone lost sound is among the remarks: it is known only once it was heard.
        """
        lines = []
        ended, lost = self.gathered.ended, self.gathered.lost
        if ended.how is How.STOPPED and not self.endless:
            lines.append("You stopped before the end: what you played until then was checked.")
        if ended.how is How.WENT_AWAY:
            lines.append(f"{capital(ended.reason)}: what was played until then is checked.")
        if lost and self.take.source != HEARD:
            times = "once" if lost == 1 else f"{lost} times"
            lines.append(
                f"Sound was lost {times} while you played: single claps are known less finely."
            )
        return tuple(lines)


def gone(gathered: Gathered, what: str) -> str:
    """Return the sentence that a device went away before ``what``; "" where none did."""
    if gathered.ended.how is not How.WENT_AWAY:
        return ""
    return f"{gathered.ended.reason} before {what}: connect or start it again, then begin anew"


def capital(words: str) -> str:
    """Return ``words`` as the beginning of a sentence."""
    return words[:1].upper() + words[1:]
