"""What an entry course says of the cue: what the accompanist plays before the entry, where it is written.

What only a recording tells is not put on paper: it may be wrong in a note, and nobody is there to ask.
"""

from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from rhythmtrain.rehearsal.cueing.known import cue_part_beside, notes_beside
from rhythmtrain.report.passage.cue_text import earlier_in_words
from rhythmtrain.score.passage import Passage


def cue_said(wish: CueWish, passage: Passage) -> tuple[str, ...]:
    """Return sentences on the cue of the entry that ``wish`` names in ``passage``, perhaps none.

    Raises:
        FileError: the accompanist's notes do not read.
    """
    beside = notes_beside(wish.passage) is not None or cue_part_beside(wish) is not None
    if not passage.cue and not beside:
        return ()
    told = tell_cue(wish).document
    if not told["notes"]:
        return ()
    words = f"Before it the accompanist plays {told['words']}."
    earlier = told["leads_earlier_to"]
    return (words, earlier_in_words(earlier)) if earlier else (words,)
