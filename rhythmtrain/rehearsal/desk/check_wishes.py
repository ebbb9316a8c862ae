"""How a recording is to be heard, from what was chosen at the page: one's own, or those of a class.

The values are those of ``rhythmtrain check``, by the same names.
"""

from dataclasses import replace

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.classes.wish import KINDS, TIMINGS
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.shelf import passage_path
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.storage.drills import load_drill
from rhythmtrain.storage.scores import is_score


def check_wish_of(sitting: Sitting, asked: Asked) -> CheckWish:
    """Return how a recording is checked.

    "passage" is what the shelf calls it, "kind" what was played and "timing" what was followed; of
    a recorded accompaniment "freely" says that the tune floats, "meet" in which bars it is met, and
    "lead_in" how many of its bars came before each repeat.

    Raises:
        RequestError: no such passage, values that are none or that do not go together.
    """
    kind = _one_of(asked, "kind", KINDS)
    timing = _one_of(asked, "timing", TIMINGS)
    aloud = asked.truth("aloud")
    if aloud and kind != KINDS[0]:
        raise RequestError("counting aloud is told from claps only: choose claps, or leave it out")
    speed, tempo = asked.maybe_number("speed"), asked.maybe_number("tempo")
    if speed is not None and tempo is not None:
        raise RequestError("say how fast it was as beats a minute or as a share, not both")
    wish = CheckWish(
        passage_path(sitting, asked.text("passage")),
        bars=asked.maybe_text("bars"),
        speed=speed,
        tempo=tempo,
        repeats=asked.whole("repeats", 1),
        echo=asked.whole("echo", 0),
        part=asked.maybe_text("part"),
        start=asked.maybe_number("start"),
        timing=timing,
        kind=kind,
        aloud=aloud,
    )
    if timing != "recording":
        return wish
    check_recorded(wish)
    lead_in = asked.whole("lead_in", wish.lead_in)
    meet = asked.maybe_text("meet")
    return replace(wish, freely=asked.truth("freely"), meet=meet, lead_in=lead_in)


def check_recorded(wish: CheckWish) -> None:
    """Raise RequestError where the passage has no recording that could have been followed."""
    if is_score(wish.passage) or load_drill(wish.passage).accompaniment is None:
        raise RequestError(
            "this passage has no recorded accompaniment: give it one under Recording, or say that "
            "a click was followed"
        )


def _one_of(asked: Asked, key: str, allowed: tuple[str, ...]) -> str:
    value = asked.text(key, allowed[0])
    if value not in allowed:
        raise RequestError(f"there is no {key} {value[:40]!r}: choose {', '.join(allowed)}")
    return value
