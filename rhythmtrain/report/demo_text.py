"""What the demo says on the terminal: what was made, what was heard, what to type next."""

from collections.abc import Sequence

from rhythmtrain.report.lines import hanging
from rhythmtrain.report.take.advice import Advice
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.text import pace_in_words

NEXT = """To go on:
  rhythmtrain drills                          the supplied drills, in order
  rhythmtrain show off-beats                  a rhythm, and where it is hard
  rhythmtrain track off-beats -o slow.flac --speed 0.6 --repeats 4 --fade
  rhythmtrain check YOUR-RECORDING off-beats  hear how you clapped it
  rhythmtrain enter sluice-gate-rag           come in beside the piano"""

CARE = (
    "Start quiet, and keep the volume low with headphones. Take breaks; stop when something hurts."
)


def demo_text(
    heard: Sequence[tuple[Heard, Advice, str]], folder: str, tracks: Sequence[str]
) -> str:
    """Return the whole text; ``heard`` holds the takes in order with their file names."""
    blocks = [
        f"Practice tracks, in {folder}:\n" + "\n".join(f"  {name}" for name in tracks),
        *(_take(*each) for each in heard),
        f"Open this in a browser, to see and hear it bar by bar:\n  {folder}/report.html",
        NEXT,
        hanging("", CARE, indent=0),
    ]
    return "\n\n".join(blocks)


def _take(heard: Heard, said: Advice, name: str) -> str:
    lines = [f"{heard.passage.title}: {name}, {pace_in_words(heard)}"]
    lines += [hanging(label, words) for label, words in said.labelled]
    return "\n".join(lines)
