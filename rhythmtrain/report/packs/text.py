"""What is said in words about a pack: what each step is for, what was made, what could not be."""

from collections.abc import Sequence

from rhythmtrain.coach.ladder import row
from rhythmtrain.coach.practice_order import Step
from rhythmtrain.prompts.tempo_words import tempo_words
from rhythmtrain.report.words import number, sentence
from rhythmtrain.score.passage import Passage
from rhythmtrain.units import Bpm

# Name on the page, and what one does.
STEP_WORDS: dict[Step, tuple[str, str]] = {
    Step.LISTEN: ("Listen", "Hear it several times before you do anything."),
    Step.ECHO: ("Echo", "Two bars are clapped for you, then two bars are empty: clap them back."),
    Step.WITH_HELP: (
        "Clap with help",
        "Four times, and count aloud: with everything, with the beats counted, with every other bar silent, then with the claps again.",
    ),
    Step.ALONE: (
        "Clap alone",
        "Three times: with the whole count, with the beats counted, with the click alone.",
    ),
}
# What stands on the button where steps stand side by side.
RUNG_WORDS: dict[Step, str] = {
    Step.LISTEN: "Listen",
    Step.ECHO: "Echo",
    Step.WITH_HELP: "With help",
    Step.ALONE: "Alone",
}
FASTER = "When a tempo feels easy, take the next. There is no hurry: one a day is plenty."
AFTERWARDS = "When clapping is easy, play the passage on your instrument to the same tracks."
CAUTIONS = (
    "Start quiet and keep the volume low with headphones. Take regular breaks; stop when something "
    "hurts, and ask a teacher or a medical professional about pain. Nothing here replaces a teacher."
)
MOST_TOLD = 10


def page_title(titles: Sequence[str]) -> str:
    """Return the title of the page: the passage's own, or how many there are."""
    if len(titles) == 1:
        return titles[0]
    return sentence(f"{number(len(titles))} rhythms to practise").rstrip(".")


def value_words(passage: Passage) -> str:
    """Return the note value that the tempi of a passage count: "quarter"."""
    return tempo_words(passage).partition(" = ")[0]


def made_text(ladders: Sequence[tuple[str, str, tuple[Bpm, ...]]], *, page: str, size: str) -> str:
    """Return what was made: each passage's folder with its ladder, and what to open.

    ``ladders`` are folder, note value that is counted, and tempi.
    """
    if not ladders:
        return "Nothing was made."
    width = max(len(folder) for folder, _, _ in ladders)
    rows = [f"{folder:<{width}}  {value} = {row(tempi)}" for folder, value, tempi in ladders]
    return "\n".join(
        [
            *rows,
            "",
            f"Open {page} on any phone or computer; keep its folders beside it ({size}).",
            "Start quiet, and keep the volume low with headphones.",
        ]
    )


def size_words(files: int, size_bytes: int) -> str:
    """Return "22 files, 5.3 MB"."""
    return f"{files} file{'' if files == 1 else 's'}, {size_bytes / 1e6:.1f} MB"


def failed_words(failed: Sequence[tuple[str, str]], asked: int) -> str:
    """Return "1 of 27 could not be made: x.toml: …" for pairs of passage and reason."""
    told = [why if passage in why else f"{passage}: {why}" for passage, why in failed[:MOST_TOLD]]
    more = len(failed) - len(told)
    rest = f"; and {more} more" if more else ""
    return f"{len(failed)} of {asked} could not be made: {'; '.join(told)}{rest}"


def clash_words(passage: str, name: str, folder: str) -> str:
    """Return what is said when a passage cannot have its own name as a folder."""
    return f"the name {name} is taken already: {passage} is in the folder {folder}"
