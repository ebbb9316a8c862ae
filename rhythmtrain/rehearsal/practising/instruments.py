"""Which kind of sound an instrument makes, and whether keys or pads can play it."""

from dataclasses import dataclass
from difflib import get_close_matches

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.live.rigs import MIC, MIDI

KINDS: dict[str, tuple[str, ...]] = {
    "wind": (
        "flute", "piccolo", "recorder", "whistle", "oboe", "clarinet", "bassoon", "saxophone",
        "harmonica", "accordion", "concertina", "bagpipe",
    ),
    "brass": (
        "trumpet", "cornet", "flugelhorn", "horn", "trombone", "euphonium", "tuba", "baritone",
    ),
    "strings": ("violin", "fiddle", "viola", "cello", "double bass", "viol"),
    "plucked": (
        "guitar", "lute", "mandolin", "banjo", "ukulele", "harp", "zither", "bass guitar",
        "piano", "keyboard", "harpsichord", "marimba", "vibraphone", "xylophone",
    ),
    "voice": ("voice", "singing", "soprano", "alto", "tenor", "bass voice"),
}  # fmt: skip
BY_MIDI = frozenset({"piano", "keyboard", "harpsichord", "marimba", "vibraphone", "xylophone"})
KIND_OF = {name: kind for kind, names in KINDS.items() for name in names}


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument by name, and the kind of sound the microphone listens for."""

    name: str
    kind: str

    def heard_by(self, source: str) -> bool:
        """Return whether what listens ("keys", "midi" or "mic") hears it."""
        return source == MIC or (source == MIDI and self.name in BY_MIDI)


def instrument_named(text: str) -> Instrument:
    """Return the instrument called ``text``: a name in the table, or a kind of sound.

    Raises:
        RequestError: one that is not known.
    """
    name = " ".join(text.lower().replace("-", " ").split())
    if name in KINDS:
        return Instrument(name, name)
    if name in KIND_OF:
        return Instrument(name, KIND_OF[name])
    near = get_close_matches(name, [*KIND_OF, *KINDS], 1)
    hint = f"did you mean {near[0]}? Or say" if near else "say"
    raise RequestError(
        f"there is no instrument {text!r} in the table: {hint} what kind of sound it makes, "
        f"{', '.join(KINDS)}"
    )
