"""One note as the file has it: pitch, ties, accent; and how a part's transposition is written."""

from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.musicxml.durations import number
from rhythmtrain.score.musicxml.markup import Node
from rhythmtrain.score.pitches import HIGHEST, LETTERS

ACCENTS = frozenset({"accent", "strong-accent"})
# The beam that joins eighths; a note's other beams join shorter ones (MusicXML 4.0: 1 if not said).
ONE = (None, "1")
OPENS, STOPS = "start", "stop"


@dataclass(frozen=True, slots=True)
class FileNote:
    """A note as the file has it: quarters into the bar, and sounding pitch (None: unpitched).

    ``key`` tells whether a tie may join two notes: the pitch, or the place of an unpitched note on
    the staff.  ``tied_from`` and ``tied_on`` are the two ends of ties that it has.
    ``beam`` is what its beam does here ("begin", "end" …), or "".
    """

    at: Fraction
    length: Fraction
    pitch: int | None
    key: str
    tied_from: bool = False
    tied_on: bool = False
    voice: str = "1"
    staff: int = 1
    accent: bool = False
    cue: bool = False
    beam: str = ""


def file_note(node: Node, at: Fraction, length: Fraction, transposed: int) -> FileNote:
    """Return the note in ``node``; ``transposed`` is by how many semitones it sounds higher."""
    pitch, key = _pitch(node, transposed)
    cue = node.has("cue")
    ties = {tie.get("type") for tie in node.all("tie")}
    accent = False
    for marks in node.all("notations"):
        ties |= {tie.get("type") for tie in marks.all("tied")}
        accent = accent or any(
            mark.tag in ACCENTS for each in marks.all("articulations") for mark in each.children
        )
    staff = node.text_of("staff")
    return FileNote(
        at,
        length,
        pitch,
        f"cue {key}" if cue else key,
        tied_from=STOPS in ties or "continue" in ties,
        tied_on=OPENS in ties or "continue" in ties,
        voice=node.text_of("voice") or "1",
        staff=int(staff) if staff.isascii() and staff.isdigit() and len(staff) <= 2 else 1,  # noqa: PLR2004
        accent=accent,
        cue=cue,
        beam=next(
            (each.text.strip() for each in node.all("beam") if each.get("number") in ONE), ""
        ),
    )


def semitones(transpose: Node) -> int:
    """Return by how many semitones a part sounds above what is written."""
    chromatic, octaves = (
        number(transpose.text_of(tag)) or Fraction(0) for tag in ("chromatic", "octave-change")
    )
    return max(min(round(chromatic) + 12 * round(octaves), HIGHEST), -HIGHEST)


def _pitch(note: Node, transposed: int) -> tuple[int | None, str]:
    """Return the sounding pitch of a note, None without one, and what a tie must meet again."""
    pitch = note.child("pitch")
    if pitch is None:
        shown = note.child("unpitched")
        place = (
            "" if shown is None else shown.text_of("display-step") + shown.text_of("display-octave")
        )
        return None, f"at {place}"
    octave, alter = number(pitch.text_of("octave")), number(pitch.text_of("alter"))
    letter = LETTERS.get(pitch.text_of("step").upper())
    if octave is None or letter is None:
        return None, "at"
    sounding = 12 * (round(octave) + 1) + letter + round(alter or 0) + transposed
    return (sounding, str(sounding)) if 0 <= sounding <= HIGHEST else (None, str(sounding))
