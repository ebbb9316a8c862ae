"""The tune of a drill: sounding pitches for the notes of a rhythm, in written order.

``D5 F#5 A5 | - D5+A4``: one word a note; ``-`` is a note without a pitch, ``+`` joins pitches that sound
together.  Bar lines may stand between; then each part belongs to the next bar that has notes.
"""

from collections.abc import Iterator
from dataclasses import replace

from rhythmtrain.errors import DrillError
from rhythmtrain.score.passage import Bar, Kind, Place
from rhythmtrain.score.pitches import pitch_name, pitch_number

NO_PITCH = "-"


def with_tune(bars: tuple[Bar, ...], text: str) -> tuple[Bar, ...]:
    """Return ``bars`` with the pitches of ``text`` on their notes.

    Raises:
        DrillError: not pitches, or not as many as there are notes.
    """
    parts = [part.split() for part in text.split("|")]
    with_notes = [bar for bar in bars if _notes(bar)]
    if len(parts) > 1:
        _check_parts([part for part in parts if part], with_notes)
    words = [word for part in parts for word in part]
    wanted = sum(_notes(bar) for bar in bars)
    if len(words) != wanted:
        raise DrillError(
            f"the tune has {_pitch_words(len(words))}, but the rhythm has {wanted} note{'s' * (wanted != 1)}"
        )
    pitches = (_pitches(word) for word in words)
    return tuple(
        replace(bar, places=tuple(_sounding(place, pitches) for place in bar.places))
        for bar in bars
    )


def write_tune(bars: tuple[Bar, ...]) -> str | None:
    """Return the tune of ``bars``, or None where no note has a pitch."""
    if not any(place.pitches for bar in bars for place in bar.places):
        return None
    parts = [
        " ".join(
            "+".join(map(pitch_name, place.pitches)) or NO_PITCH
            for place in bar.places
            if place.kind is Kind.PLAYED
        )
        for bar in bars
        if _notes(bar)
    ]
    return " | ".join(parts)


def _notes(bar: Bar) -> int:
    return sum(place.kind is Kind.PLAYED for place in bar.places)


def _check_parts(parts: list[list[str]], bars: list[Bar]) -> None:
    if len(parts) != len(bars):
        raise DrillError(
            f"the tune has {len(parts)} parts between its bar lines, but {len(bars)} bars of the "
            "rhythm have notes"
        )
    for part, bar in zip(parts, bars, strict=True):
        if len(part) != _notes(bar):
            raise DrillError(
                f"the tune has {_pitch_words(len(part))} here, but the bar has {_notes(bar)} note{'s' * (_notes(bar) != 1)}",
                bar=bar.number,
            )


def _pitch_words(number: int) -> str:
    return "1 pitch" if number == 1 else f"{number} pitches"


def _pitches(word: str) -> tuple[int, ...]:
    return () if word == NO_PITCH else tuple(pitch_number(name) for name in word.split("+"))


def _sounding(place: Place, pitches: Iterator[tuple[int, ...]]) -> Place:
    return replace(place, pitches=next(pitches)) if place.kind is Kind.PLAYED else place
