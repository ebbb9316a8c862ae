"""What is said of a figure that was read wrongly: the words for each name in ``figures``.

A sentence names the figure as written, where it stands and how it sounded, and leaves the choice
to the player: a wrong figure may have been meant.
"""

from rhythmtrain.assess.findings import Mistake

MEANT = "if you meant that, leave it"

_EXACT: dict[str, str] = {
    "dotted played even": "the dotted figure in {place} was played even",
    "dotted played as triplet": "the dotted pair in {place} was played as a triplet, long-short",
    "even played dotted": "the even notes in {place} were played dotted",
    "even played swung": "the even pair in {place} was played swung",
    "swung played even": "the long-short triplet pair in {place} was played even",
    "triplet played dotted": "the long-short triplet pair in {place} was played dotted",
    "short-long played even": "the short-long pair in {place} was played even",
    "long-short played even": "the long-short pair in {place} was played as two even notes",
    "duplet played long-short": "the two even notes in {place} were played long-short",
    "syncopation played as triplet": "the short-long-short in {place} was played as a triplet",
    "syncopation moved to the beat": "the syncopated note in {place} was moved on to the next count",
    "off-beat moved to the beat": "the note off the beat in {place} was moved to the next beat",
    "off-beat played on the beat": "the note off the beat in {place} was played on the beat",
    "dot or tie ignored": "the dotted or tied note before {place} was not held for its dot or tie",
    "bar rushed": "bar {bar} was rushed by about a third",
    "bar dragged": "bar {bar} was dragged by about a third",
}
_ENDINGS: dict[str, str] = {
    " one beat short": "the {first} before {place} was a beat too short",
    " one beat long": "the {first} before {place} was a beat too long",
    " as triplet": "the {first} in {place} were played as a triplet",
    " turned round": "the {first} in {place} were turned round",
}
_TRIPLET = "triplet as "


def told(mistake: Mistake) -> str:
    """Return the mistake alone, in plain words: "the dotted figure in bar 7 was played even"."""
    place = f"bar {mistake.bar}"
    if mistake.what in _EXACT:
        return _EXACT[mistake.what].format(place=place, bar=mistake.bar)
    for ending, words in _ENDINGS.items():
        if mistake.what.endswith(ending):
            return words.format(first=mistake.what.removesuffix(ending), place=place)
    return f"the triplet in {place} was played as {mistake.what.removeprefix(_TRIPLET)}"
