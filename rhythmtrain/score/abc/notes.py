"""The notes and rests of a voice, put into its bars: length, pitch, tie, accent, pause."""

from dataclasses import dataclass, field
from dataclasses import replace as changed
from fractions import Fraction

from rhythmtrain.score.abc.gathered import Gathered
from rhythmtrain.score.abc.pitch import sounding
from rhythmtrain.score.abc.rhythm import Rhythm
from rhythmtrain.score.musicxml.file_notes import FileNote
from rhythmtrain.score.musicxml.measure import Measure
from rhythmtrain.score.musicxml.printed_beams import BEGINS, ENDS


@dataclass(slots=True)
class Notes:
    """Where notes go, and what was said that counts for the next one.

    ``unit`` is what lengths are multiples of, ``key`` by how many semitones letters are altered.
    """

    gathered: Gathered
    rhythm: Rhythm
    unit: Fraction
    key: dict[str, int]
    accent: bool = False
    pause: bool = False
    _altered: dict[str, int] = field(default_factory=dict)
    _ties: set[str] = field(default_factory=set)
    _before: int = 0
    _struck: tuple[Measure | None, int] = (None, 0)
    # The notes that stand together without a blank, by their places in the bar.
    _joined: list[int] = field(default_factory=list)

    def rest(self, length: str) -> None:
        """Put a rest here."""
        self._begin(length)
        self.end_beam()
        self._struck, self.accent = (None, 0), False
        self._ties.clear()

    def strike(self, heads: list[str], length: str, *, tied: bool) -> None:
        """Put the notes ``heads`` here, which begin together and may be tied to the next."""
        at, lasts = self._begin(length)
        here = self.gathered.here()
        keys = set()
        for head in heads:
            pitch, key = sounding(head, self.key, self._altered)
            keys.add(key)
            here.notes.append(
                FileNote(at, lasts, pitch, key, key in self._ties, tied, accent=self.accent)
            )
        self._ties = keys if tied else set()
        self._struck, self.accent = (here, self._before), False
        if lasts >= 1:
            self.end_beam()
        else:
            self._joined.append(self._before)

    def tie_last(self) -> bool:
        """Tie the last notes to the next; return False where none was struck, or they are tied."""
        bar, first = self._struck
        if bar is None or self._ties:
            return False
        bar.notes[first:] = [changed(note, tied_on=True) for note in bar.notes[first:]]
        self._ties = {note.key for note in bar.notes[first:]}
        return True

    def end_beam(self) -> None:
        """Put a beam over the notes that stood together, if there are several (4.7)."""
        if len(self._joined) > 1:
            notes = self.gathered.here().notes
            first, last = self._joined[0], self._joined[-1]
            notes[first] = changed(notes[first], beam=BEGINS)
            notes[last] = changed(notes[last], beam=ENDS)
        self._joined.clear()

    def end_bar(self) -> None:
        """End the bar, if anything is in it."""
        gathered = self.gathered
        if not gathered.at:
            return
        self.end_beam()
        here = gathered.here()
        here.signs.pauses += [gathered.at] if self.pause else []
        self.rhythm.end_bar(here)
        gathered.close()
        self._altered, self._before, self.pause = {}, 0, False

    def _begin(self, text: str) -> tuple[Fraction, Fraction]:
        """Return where the next note or rest begins and how long it is, and go on by that."""
        here = self.gathered.here()
        length, longer = self.rhythm.next_length(text, self.unit, here)
        if longer:
            held = [
                changed(note, length=note.length + longer) for note in here.notes[self._before :]
            ]
            here.notes[self._before :] = held
        at = self.gathered.at + longer
        here.signs.pauses += [at] if self.pause else []
        self.pause, self._before = False, len(here.notes)
        self.gathered.go_on(at + length)
        return at, length
