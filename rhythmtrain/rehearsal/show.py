"""Showing a passage: its rhythm, counts, entries, and where it is hard."""

from dataclasses import dataclass

from rhythmtrain.rehearsal.passages import Wish, wished_passage
from rhythmtrain.rehearsal.score_passages import seen_now
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.show import show_text
from rhythmtrain.report.show_json import show_json
from rhythmtrain.storage.drills import load_drill
from rhythmtrain.storage.scores import is_score


@dataclass(frozen=True, slots=True)
class ShowWish(Wish):
    """What is to be shown: options as typed."""

    british: bool = False


def show_passage(wish: ShowWish) -> Told:
    """Return the passage that ``wish`` names as text and as the stable JSON document.

    Raises:
        RequestError: bars or a part that do not exist.
        DrillError, FileError: the passage does not read.
    """
    said: list[str] = []
    passage = wished_passage(wish, said.append)
    whole = wish.bars is None and wish.part is None
    if whole and not is_score(wish.passage):
        hint = seen_now(load_drill(wish.passage), passage)
        said += [hint] if hint else []
    text = show_text(passage, british=wish.british)
    return Told(text, show_json(passage), warnings=tuple(said))
