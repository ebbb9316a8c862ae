"""Signs over the notes that say how they are played, or where one goes on (ABC 2.1, sections 4.14 to 4.16).

Of all of them an accent, a pause and the jumps to a sign matter to the rhythm.  A letter stands for one of them,
as the standard says or as the tune's own ``U:`` does.
"""

import re

ACCENTS = frozenset({">", "accent", "emphasis"})
PAUSES = frozenset({"fermata", "invertedfermata"})
# What each says in the words of ``musicxml.signs``; names are compared without capitals.
JUMPS = {
    "segno": "segno", "coda": "coda", "dacoda": "tocoda", "fine": "fine",
    "d.c.": "dacapo", "dacapo": "dacapo", "d.c.alcoda": "dacapo", "d.c.alfine": "dacapo",
    "d.s.": "dalsegno", "d.s.alcoda": "dalsegno", "d.s.alfine": "dalsegno",
}  # fmt: skip
# What the letters mean where the tune says nothing else, and every other name of 2.1.
LETTERS = {
    "~": "roll", ".": "staccato", "H": "fermata", "L": "accent", "M": "lowermordent", "O": "coda",
    "P": "uppermordent", "S": "segno", "T": "trill", "u": "upbow", "v": "downbow",
}  # fmt: skip
_OTHERS = (
    "trill trill( trill) lowermordent uppermordent mordent pralltriller roll turn turnx invertedturn "
    "invertedturnx arpeggio tenuto wedge + plus snap open thumb breath shortphrase mediumphrase "
    "longphrase upbow downbow slide staccato 0 1 2 3 4 5 p pp ppp pppp f ff fff ffff mp mf sf sfz "
    "crescendo( crescendo) diminuendo( diminuendo) <( <) >( >) ^ nil none"
)
NAMES = frozenset({*ACCENTS, *PAUSES, *JUMPS, *_OTHERS.split()})
_DEFINED = re.compile(r"\s*([H-Wh-w~])\s*=?\s*[!+]?([^!+\s]*)[!+]?.*")


def defined(text: str) -> tuple[str, str] | None:
    """Return the letter that ``U:`` gives a meaning, and the name it stands for; None where it is none."""
    found = _DEFINED.fullmatch(text)
    return (found[1], found[2]) if found is not None and found[2] else None
