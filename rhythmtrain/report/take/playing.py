"""What was played, in words: claps are clapped, notes are played or sung, and heard more finely or less."""

from dataclasses import dataclass

FINE_S = 0.010


@dataclass(frozen=True, slots=True)
class Playing:
    """The words for what was played, and how well its times are known.

    ``uncertainty_s`` is the standard error of a single onset in seconds; ``delay_known`` is False
    where the way of the sound was not measured, so that what is common to all onsets is not known.
    """

    noun: str = "note"
    verb: str = "play"
    uncertainty_s: float = 0.0
    delay_known: bool = True

    @property
    def coarse(self) -> bool:
        """Return True where single onsets are known no better than to some hundredths of a second."""
        return self.uncertainty_s > FINE_S


NOTES = Playing()
WORDS: dict[tuple[str, str], tuple[str, str]] = {
    ("audio", "claps"): ("clap", "clap"),
    ("keys", "claps"): ("clap", "clap"),
    ("audio", "voice"): ("note", "sing"),
}


def playing_of(
    source: str, kind: str, *, uncertainty_s: float = 0.0, delay_known: bool = True
) -> Playing:
    """Return the words for a take from ``source`` ("audio", "midi", "text" …).

    ``kind`` is what was listened for ("claps", "wind" …); a list of times may be of anything and
    is spoken of as notes.
    """
    noun, verb = WORDS.get((source, kind), ("note", "play"))
    return Playing(noun, verb, uncertainty_s, delay_known)
