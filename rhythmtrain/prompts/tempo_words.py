"""The tempo that sounds, in a musician's words: "quarter = 72"."""

from rhythmtrain.score.metre import value_name
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.tempo import speeds

STEADY = 1e-9


def tempo_words(passage: Passage, speed: float = 1.0, *, british: bool = False) -> str:
    """Return the tempo as it sounds at ``speed`` times the written one: "dotted quarter = 60".

    A passage whose tempo changes says its first tempo and "at first".
    """
    metre = passage.bars[0].metre
    value = metre.tempo_value
    name = value_name(value, british=british)
    if name is None:
        value = metre.length / sum(metre.groups)
        name = value_name(value, british=british)
    quarters = speeds(passage)
    first = quarters[0][0]
    changes = any(abs(pace - first) > STEADY * first for pair in quarters for pace in pair)
    beats = round(first / float(value) * speed, 1)
    return f"{name} = {beats:g}{' at first' if changes else ''}"
