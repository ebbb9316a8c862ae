"""Which part of a score a person means: by name, by number from 1, or by default.

Where none is named, the only part with notes is meant, or the first that is no keyboard's: the player
has a single line, and the keyboard is the accompanist.
"""

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.remedies import remedy
from rhythmtrain.score.musicxml.document import Part, Score

MOST_NAMED = 12


def choose_part(score: Score, wish: str | None = None) -> tuple[Part, str]:
    """Return the part that ``wish`` means, and a sentence that says which was taken, or "".

    Raises:
        RequestError: there is no such part, or several of that name.
        FileError: no part has a note.
    """
    if wish is not None:
        return _named(score.parts, wish), ""
    sounding = [part for part in score.parts if part.sounds]
    if not sounding:
        raise FileError(f"{score.name} holds no notes")
    chosen = next((part for part in sounding if not part.keyboard), sounding[0])
    if len(score.parts) == 1:
        return chosen, ""
    return chosen, (
        f"of {len(score.parts)} parts, part {chosen.number} is taken: {chosen.name} "
        f"({remedy('another-part')})"
    )


def _named(parts: tuple[Part, ...], wish: str) -> Part:
    asked = wish.strip().casefold()
    found = [part for part in parts if part.name.casefold() == asked]
    found = found or [part for part in parts if str(part.number) == asked]
    found = found or [part for part in parts if asked and asked in part.name.casefold()]
    if len(found) == 1:
        return found[0]
    have = ", ".join(f"{part.number} {part.name}" for part in parts[:MOST_NAMED])
    more = f" and {len(parts) - MOST_NAMED} more" if len(parts) > MOST_NAMED else ""
    what = "several parts are called" if found else "there is no part"
    raise RequestError(f"{what} {wish[:40]!r}: say its name or number, one of {have}{more}")
