"""Staves of a sheet in MEI: the bar's notes and rests, and under it the counts.

MEI is the Music Encoding Initiative's format (MEI 5, 2023).  The counts have a staff of their own
without lines or heads, so that every syllable gets its room under its own moment, also where the
note above goes on, and under rests, which can carry no words.
"""

from collections.abc import Callable, Iterator
from fractions import Fraction
from html import escape

from rhythmtrain.report.sheets.counts import PrintedCount, as_notes
from rhythmtrain.report.sheets.pitches import Accidentals
from rhythmtrain.score.notation.notation import NotatedBar, Sign
from rhythmtrain.score.passage import Kind

GREY = "#595959"
BELOW_THE_CUE = -4
DURATIONS = {
    Fraction(8): "breve", Fraction(4): "1", Fraction(2): "2", Fraction(1): "4",
    Fraction(1, 2): "8", Fraction(1, 4): "16", Fraction(1, 8): "32", Fraction(1, 16): "64",
    Fraction(1, 32): "128",
}  # fmt: skip
Write = Callable[[int, Sign], str]


def notes_layer(
    bar: NotatedBar, index: int, accidentals: Accidentals | None, *, cued: bool = False
) -> str:
    """Return the content of a bar's layer; notes are named ``b{index}s{number}``.

    With ``accidentals`` notes stand at their pitch on five lines, else all on one line.  Where the
    bar is ``cued`` its rests make room for the small notes.
    """
    low = f' loc="{BELOW_THE_CUE}"' if cued else ""
    if not bar.signs:
        return f"<mRest{low}/>"
    rest = low or ("" if accidentals else ' loc="0"')

    def write(number: int, sign: Sign) -> str:
        name = f'xml:id="b{index}s{number}" {_value(sign)}'
        if sign.rest:
            return f"<rest {name}{rest}/>"
        marks = ' artic="acc"' if sign.accent else ""
        if accidentals is None or not sign.pitches:
            where = 'loc="4"' if accidentals else 'loc="0" stem.dir="up"'
            return f"<note {name} {where}{marks}/>"
        heads = [accidentals.place(pitch) for pitch in sign.pitches]
        if len(heads) == 1:
            return f"<note {name} {heads[0]}{marks}/>"
        return f"<chord {name}{marks}>{''.join(f'<note {head}/>' for head in heads)}</chord>"

    return "".join(_grouped(bar, write))


def cue_layer(bar: NotatedBar, until: Fraction, accidentals: Accidentals | None) -> str:
    """Return the accompanist's notes of a bar, small, as far as ``until``; nothing after it."""
    if not bar.signs:
        return ""

    def write(_: int, sign: Sign) -> str:
        if sign.at >= until:
            return f"<space {_value(sign)}/>"
        if sign.rest:
            return f'<rest {_value(sign)} cue="true" loc="{4 if accidentals else 0}"/>'
        pitched = accidentals is not None and bool(sign.pitches)
        loc = f'loc="{4 if accidentals else 0}"'
        head = accidentals.place(sign.pitches[-1]) if accidentals and pitched else loc
        return f'<note {_value(sign)} cue="true" {head} stem.dir="up"/>'

    return "".join(_grouped(bar, write))


def counts_layer(bar: NotatedBar, counts: tuple[PrintedCount, ...]) -> str:
    """Return the layer of the counts: a note without a head at each, with its syllable."""
    at = {count.at: count for count in counts}

    def write(_: int, sign: Sign) -> str:
        count = at.get(sign.at) if sign.begins else None
        if count is None:
            return f"<space {_value(sign)}/>"
        text = escape(count.text, quote=False)
        if count.kind is Kind.SILENT:
            text = f'<rend color="{GREY}">{text}</rend>'
        return (
            f'<note {_value(sign)} loc="0" head.visible="false" stem.visible="false">'
            f'<verse n="1"><syl>{text}</syl></verse></note>'
        )

    spaced = as_notes(bar, counts)
    return "".join(_grouped(spaced, write, hidden=True))


def _value(sign: Sign) -> str:
    dots = f' dots="{sign.dots}"' if sign.dots else ""
    return f'dur="{DURATIONS[sign.value]}"{dots}'


def _grouped(bar: NotatedBar, write: Write, *, hidden: bool = False) -> Iterator[str]:
    """Yield the signs with the tuplets and beams round them."""
    firsts = {} if hidden else dict(bar.beams)
    ends = set() if hidden else {last for _, last in bar.beams}
    open_tuplet: int | None = None
    for number, sign in enumerate(bar.signs):
        if open_tuplet is not None and sign.tuplet != open_tuplet:
            yield "</tuplet>"
        if sign.tuplet is not None and sign.tuplet != open_tuplet:
            tuplet = bar.tuplets[sign.tuplet]
            shown = (
                ' num.visible="false" bracket.visible="false"'
                if hidden
                else (' bracket.visible="true" num.place="above" bracket.place="above"')
            )
            yield f'<tuplet num="{tuplet.notes}" numbase="{tuplet.time}"{shown}>'
        open_tuplet = sign.tuplet
        yield "<beam>" * (number in firsts) + write(number, sign) + "</beam>" * (number in ends)
    if open_tuplet is not None:
        yield "</tuplet>"
