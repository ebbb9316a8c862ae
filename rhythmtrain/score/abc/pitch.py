"""Pitches of ABC: ``C`` is middle C, ``c`` the octave above, ``c'`` and ``C,`` beyond (ABC 2.1, 4.1)."""

import re
from collections.abc import Mapping

from rhythmtrain.score.abc.fields import ALTERS
from rhythmtrain.score.pitches import HIGHEST, LETTERS

MIDDLE_C = 60
_PITCH = re.compile(r"(\^\^|\^|__|_|=|)([A-Ga-g])([,']*)")


def sounding(text: str, key: Mapping[str, int], altered: dict[str, int]) -> tuple[int | None, str]:
    """Return the MIDI number of a pitch such as "^f'" and what a tie must meet again.

    ``altered`` are the accidentals of the bar so far, and gets those of this note.
    """
    found = _PITCH.match(text)
    if found is None:
        return None, text
    sign, letter, marks = found[1], found[2], found[3]
    octave = letter.islower() + marks.count("'") - marks.count(",")
    spot = f"{letter.upper()}{octave}"
    if sign:
        altered[spot] = ALTERS[sign]
    alter = altered.get(spot, key.get(letter.upper(), 0))
    number = MIDDLE_C + LETTERS[letter.upper()] + alter + 12 * octave
    return (number if 0 <= number <= HIGHEST else None), str(number)
