"""A figure that was read as another one, said to the player: the sentence, and its line in a table."""

from rhythmtrain.assess.figures.words import MEANT, told
from rhythmtrain.assess.findings import Findings, Mistake
from rhythmtrain.report.take.flags import pooled
from rhythmtrain.report.words import bars_in_words, how_often, number, sentence


def figures_told(findings: Findings) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Return a sentence for each kind of wrong figure, with the bars it is about.

    The same figure read wrongly in several bars is one thing to learn, so it is one sentence.
    """
    kinds: dict[str, list[Mistake]] = {}
    for mistake in findings.mistakes:
        kinds.setdefault(mistake.what, []).append(mistake)
    return tuple(_told(findings, alike) for alike in kinds.values())


def figure_row(findings: Findings, mistake: Mistake) -> str:
    """Return what a table says of ``mistake``: "dotted played even, both times"."""
    often = _often(findings, mistake)
    return f"{mistake.what}, {often}" if often else mistake.what


def _told(findings: Findings, alike: list[Mistake]) -> tuple[str, tuple[int, ...]]:
    first, *others = alike
    words = told(first)
    if pooled(findings, first):
        words = f"{words}, and others like it: {_often(findings, first)}"
    elif not others and _often(findings, first):
        words = f"{words}, {_often(findings, first)}"
    same = tuple(dict.fromkeys(each.bar for each in others if each.bar != first.bar))
    if same:
        words = f"{words}, and the same in {bars_in_words(same)}"
    return sentence(f"{words}; {MEANT}"), (first.bar, *same)


def _often(findings: Findings, mistake: Mistake) -> str:
    if pooled(findings, mistake):
        return f"{number(mistake.times)} of {number(mistake.of)}"
    if mistake.of <= 1:
        return ""
    which = (
        (findings.notes[mistake.notes[0]].repeat,) if mistake.times == 1 and mistake.notes else ()
    )
    return how_often(which or range(1, mistake.times + 1), mistake.of)
