"""The drill file's writer: TOML text that reads back as the same passage.

Bars are numbered from 1 (an upbeat is 0) in what is read back, and entries follow them.
"""

import json

from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.short_bars import in_sayable_bars
from rhythmtrain.score.countline.writer import common_beat, write_bars, write_cue, write_tempo
from rhythmtrain.score.drill.tune import write_tune
from rhythmtrain.score.passage import EntryMark, Passage

READY = "ready"


def write_drill(passage: Passage) -> str:
    """Return ``passage`` as the text of a drill file; what is cut short, in a metre of its own.

    Raises:
        DrillError: a count line cannot say its bars.
    """
    passage = in_sayable_bars(passage)
    beat = common_beat(passage.bars)
    rhythm = write_bars(passage.bars)
    lines = [
        f"title = {_quoted(passage.title)}",
        *([f"about = {_quoted(passage.about)}"] if passage.about else []),
        f"metre = {_quoted(str(passage.metre))}",
        *([f"beat = {_quoted(beat)}"] if beat else []),
        f"tempo = {write_tempo(passage.tempo)}",
        _block("rhythm", rhythm),
    ]
    if passage.cue:
        read = read_bars(rhythm, passage.metre.with_beat(beat))
        lines.append(_block("cue", write_cue(passage.cue, read)))
    tune = write_tune(passage.bars)
    if tune is not None:
        lines.append(f"tune = {_quoted(tune)}")
    shift = (0 if passage.bars[0].begins else 1) - passage.bars[0].number
    lines += [_entry(mark, shift) for mark in passage.marks]
    return "\n".join(lines) + "\n"


def _entry(mark: EntryMark, shift: int) -> str:
    prepare = mark.prepare
    beats = str(prepare) if prepare.denominator == 1 else repr(float(prepare))
    lines = ["", "[[entry]]", f"bar = {mark.bar + shift}", f"count = {_quoted(mark.count)}"]
    lines += [f"prepare = {beats}"]
    lines += [] if mark.word == READY else [f"say = {_quoted(mark.word)}"]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    """Return ``text`` as one line between quotation marks; JSON's escapes are TOML's too."""
    line = "".join(letter for letter in " ".join(text.split()) if letter.isprintable())
    return json.dumps(line, ensure_ascii=False)


def _block(key: str, text: str) -> str:
    escaped = text.replace("\\", "\\\\")
    return f'{key} = """\n{escaped}\n"""'
