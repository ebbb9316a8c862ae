"""How help thins while one entry is practised: the rests aloud, then fewer of them, then the word.

The word of preparation ("ready", "breathe") stays longest, since breathing before the entry is
part of coming in.  The accompanist's cue is no help and never fades.  Where there is neither cue
nor recording to come in with, the click takes their place and stays to the end.
"""

from rhythmtrain.prompts.fading import BEAT, CLICK, HelpStep, Silence
from rhythmtrain.prompts.say import Say

_COUNTED: tuple[HelpStep, ...] = (
    HelpStep("rests counted aloud", BEAT, Say.BEATS, prepares=True),
    HelpStep("every other bar counted", BEAT, Say.BEATS, Silence.EVERY_OTHER, prepares=True),
    HelpStep("click and preparation", CLICK, prepares=True),
)
WITH_ACCOMPANIST: tuple[HelpStep, ...] = (
    *_COUNTED,
    HelpStep("preparation alone", frozenset(), silence=Silence.ALL, prepares=True),
    HelpStep("no help", frozenset(), silence=Silence.ALL),
)
WITH_CLICK: tuple[HelpStep, ...] = (*_COUNTED, HelpStep("no help but the click", CLICK))


def entry_steps(*, accompanied: bool) -> tuple[HelpStep, ...]:
    """Return the steps of help, most first; ``accompanied`` where a cue or recording sounds."""
    return WITH_ACCOMPANIST if accompanied else WITH_CLICK
