"""A plan as a Standard MIDI File (SMF 1.0, RP-001): type 1, one track for each layer.

The first track tells title, tempo words, tempi, metres, and markers; the counts are lyrics.
Strokes are General MIDI percussion (channel 10): hand clap for the rhythm, high and low wood block
for the click, side stick for a cue without pitches.  The tune is a clarinet, a cue with pitches a
piano.  What has no sound of its own in MIDI, the recorded accompaniment, is left out.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

import mido

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.render.ticks import TICKS_A_QUARTER, TickMap, tick_map

# Channels and programs as they stand in the file: from 0.
TUNE_CHANNEL, CUE_CHANNEL, PERCUSSION = 0, 1, 9
CLARINET, GRAND_PIANO = 71, 0
SIDE_STICK, HAND_CLAP, HIGH_WOOD_BLOCK, LOW_WOOD_BLOCK = 37, 39, 76, 77
VELOCITY, ACCENT_VELOCITY = 90, 115
STROKE_S = 0.05
SHORTEST_NOTE_S = 0.02

# Key and velocity of a click by its text.
CLICKS: dict[str, tuple[int, int]] = {
    "downbeat": (HIGH_WOOD_BLOCK, 110),
    "beat": (LOW_WOOD_BLOCK, 90),
    "between": (LOW_WOOD_BLOCK, 50),
}
STROKES: dict[Layer, int] = {Layer.CLAP: HAND_CLAP, Layer.CUE: SIDE_STICK, Layer.TUNE: SIDE_STICK}
CHANNELS: dict[Layer, int] = {Layer.TUNE: TUNE_CHANNEL, Layer.CUE: CUE_CHANNEL}
PROGRAMS: dict[Layer, int] = {Layer.TUNE: CLARINET, Layer.CUE: GRAND_PIANO}
TRACK_NAMES: dict[Layer, str] = {
    Layer.TUNE: "Tune",
    Layer.CUE: "Cue",
    Layer.CLAP: "Rhythm",
    Layer.CLICK: "Click",
    Layer.COUNT: "Count",
}
CLOCKS_A_WHOLE = 96
COMPOUND_UPPERS, COMPOUND_LOWER, COMPOUND_CLOCKS = (6, 9, 12), 8, 36

Timed = tuple[int, mido.Message | mido.MetaMessage]


@dataclass(frozen=True, slots=True)
class _Note:
    """A note to be written: channel, key, velocity, and the ticks between which it sounds."""

    channel: int
    key: int
    velocity: int
    begin: int
    end: int


def midi_bytes(plan: Plan) -> bytes:
    """Return ``plan`` as the bytes of a MIDI file, every onset within 1 ms of its place.

    Raises:
        RequestError: a click that is none of the known ones.
    """
    ticks = tick_map(plan.tempi, plan.duration_s)
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_A_QUARTER, charset="utf-8")
    stop = ticks.tick(plan.duration_s)
    file.tracks.append(_track(_conducted(plan, ticks), stop))
    for layer, name in TRACK_NAMES.items():
        prompts = [prompt for prompt in plan.prompts if prompt.layer is layer]
        if prompts:
            file.tracks.append(_track(_played(layer, name, prompts, ticks), stop))
    written = BytesIO()
    file.save(file=written)
    return written.getvalue()


def _conducted(plan: Plan, ticks: TickMap) -> Iterator[Timed]:
    """Yield what belongs to all tracks: title, tempo words, tempi, metres, markers."""
    yield 0, mido.MetaMessage("track_name", name=plan.title)
    yield 0, mido.MetaMessage("text", text=plan.tempo_words)
    for second, upper, lower in plan.metres:
        yield ticks.tick(second), _metre(upper, lower)
    for step in ticks.steps:
        yield step.tick, mido.MetaMessage("set_tempo", tempo=step.us_a_quarter)
    for second, words in plan.markers:
        yield ticks.tick(second), mido.MetaMessage("marker", text=words)


def _metre(upper: int, lower: int) -> mido.MetaMessage:
    """Return a time signature that clicks on the beat as counted: dotted quarters in 6/8."""
    compound = upper in COMPOUND_UPPERS and lower == COMPOUND_LOWER
    return mido.MetaMessage(
        "time_signature",
        numerator=upper,
        denominator=lower,
        clocks_per_click=COMPOUND_CLOCKS if compound else max(CLOCKS_A_WHOLE // lower, 1),
    )


def _played(layer: Layer, name: str, prompts: Sequence[Prompt], ticks: TickMap) -> Iterator[Timed]:
    """Yield the track of one layer."""
    yield 0, mido.MetaMessage("track_name", name=name)
    if layer is Layer.COUNT:
        for prompt in prompts:
            yield ticks.tick(prompt.time_s), mido.MetaMessage("lyrics", text=prompt.text)
        return
    if layer in PROGRAMS:
        yield (
            0,
            mido.Message("program_change", channel=CHANNELS[layer], program=PROGRAMS[layer]),
        )
    for note in _ended_in_time([each for prompt in prompts for each in _notes(prompt, ticks)]):
        told = {"channel": note.channel, "note": note.key}
        yield note.begin, mido.Message("note_on", velocity=note.velocity, **told)
        yield note.end, mido.Message("note_off", velocity=0, **told)


def _notes(prompt: Prompt, ticks: TickMap) -> Iterator[_Note]:
    channel, keys, velocity, length_s = _struck(prompt)
    begin, end = ticks.tick(prompt.time_s), ticks.tick(prompt.time_s + length_s)
    for key in keys:
        yield _Note(channel, key, velocity, begin, max(end, begin + 1))


def _struck(prompt: Prompt) -> tuple[int, tuple[int, ...], int, float]:
    """Return channel, keys, velocity, and length in seconds of what a prompt sounds like."""
    velocity = ACCENT_VELOCITY if prompt.accent else VELOCITY
    if prompt.layer is Layer.CLICK:
        if prompt.text not in CLICKS:
            raise RequestError(f"a click is {', '.join(CLICKS)}, got {prompt.text!r}")
        key, loud = CLICKS[prompt.text]
        return PERCUSSION, (key,), loud, STROKE_S
    if prompt.pitches and prompt.layer in CHANNELS:
        length_s = max(prompt.length_s, SHORTEST_NOTE_S)
        return CHANNELS[prompt.layer], prompt.pitches, velocity, length_s
    return PERCUSSION, (STROKES[prompt.layer],), velocity, STROKE_S


def _ended_in_time(notes: Iterable[_Note]) -> Iterator[_Note]:
    """Yield ``notes`` in order; one that would sound into the next of its key ends where it begins.

    Of two that begin together on one key, one is left: the longer.
    """
    following: dict[tuple[int, int], int] = {}
    kept: list[_Note] = []
    for note in sorted(notes, key=lambda each: (-each.begin, -each.end)):
        voice = (note.channel, note.key)
        until = following.get(voice, note.end)
        if until == note.begin:
            continue
        following[voice] = note.begin
        kept.append(_Note(*voice, note.velocity, note.begin, min(note.end, until)))
    return iter(sorted(kept, key=lambda each: (each.begin, each.key)))


def _track(timed: Iterable[Timed], stop: int) -> mido.MidiTrack:
    """Return a track in order of time, what was told first first, its end marked."""
    track, now = mido.MidiTrack(), 0
    for tick, message in sorted(timed, key=lambda each: each[0]):
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=max(stop - now, 0)))
    return track
