"""What a person asks to hear in a track, whatever the passage."""

from dataclasses import dataclass

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.fading import HELP_STEPS, HelpStep
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.say import Say
from rhythmtrain.score.counting import NUMBERS, SYSTEMS

MOST_CLICKS_A_BEAT = 12
DEFAULT_LAYERS = frozenset({Layer.CLAP, Layer.CLICK, Layer.COUNT})


@dataclass(frozen=True, slots=True)
class Wishes:
    """What should be heard.

    ``say`` is how much of the count is spoken.  ``subdivide`` is how many clicks every beat gets
    (None: no added ones).  ``quick`` says the first of two count-in bars in halves.  ``fade``
    lets the help thin over the runs along ``steps``.  ``landmarks`` speaks each landmark once,
    beforehand, but for those in ``unspoken``, for which the voice has no words.  ``count_rests`` says the bar's number in long rests, ``prepare`` says "ready"
    before an entry.  ``counting`` is the system of syllables.  ``british`` names note values as in Britain.
    """

    layers: frozenset[Layer] = DEFAULT_LAYERS
    say: Say = Say.PLAYED
    subdivide: int | None = None
    quick: bool = False
    fade: bool = False
    counting: str = NUMBERS
    landmarks: bool = False
    unspoken: frozenset[str] = frozenset()
    count_rests: bool = True
    prepare: bool = True
    british: bool = False
    steps: tuple[HelpStep, ...] = HELP_STEPS

    def __post_init__(self) -> None:
        """Refuse what cannot be heard."""
        if not self.layers:
            names = ", ".join(Layer)
            raise RequestError(f"a track with no layers is silent: choose from {names}")
        if self.subdivide is not None and not 1 <= self.subdivide <= MOST_CLICKS_A_BEAT:
            raise RequestError(
                f"subdivide must be 1 to {MOST_CLICKS_A_BEAT} clicks a beat, got {self.subdivide}"
            )
        if self.counting not in SYSTEMS:
            systems = ", ".join(SYSTEMS)
            raise RequestError(f"there is no counting system {self.counting!r}: choose {systems}")
        if not self.steps:
            raise RequestError("help needs at least one step")
