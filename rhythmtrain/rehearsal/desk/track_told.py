"""What the page is told of a track: when what falls in it, in seconds of the track, and in words."""

from typing import Any

from rhythmtrain.prompts.rests import bar_numbers
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.desk.rounds.laid import Loop
from rhythmtrain.rehearsal.tracks.sound import RATE
from rhythmtrain.report.take.text import tempo_in_words
from rhythmtrain.report.words import bar_in_words
from rhythmtrain.timing.timeline import PlayedBar, Role, Timeline

Document = dict[str, Any]


def track_document(made: Made) -> Document:
    """Return when what falls in a track: its bars, its beats, its notes, in seconds of the track."""
    timeline, plan = made.timeline if made.loop is None else made.loop.timeline, made.plan
    numbers = bar_numbers(timeline)
    return {
        "title": plan.title,
        "tempo_words": tempo_in_words(timeline.passage, timeline.practice.speed),
        "speed": timeline.practice.speed,
        "duration_s": float(plan.duration_s),
        "count_in_s": float(plan.count_in_s),
        "sample_rate": RATE,
        "layers": list(made.stems),
        "loop": None if made.loop is None else _loop(made.loop),
        "bars": [_bar(timeline, place, numbers.get(place)) for place in range(len(timeline.bars))],
        "notes": [
            {
                "time_s": float(timeline.track_seconds(note.at)),
                "index": timeline.bars[note.place].index,
                "at": float(note.at - timeline.bars[note.place].nominal),
                "run": note.run,
                "yours": note.expected,
            }
            for note in timeline.notes
        ],
        "entries_s": [
            float(timeline.track_seconds(timeline.notes[each.note].at)) for each in timeline.entries
        ],
    }


def _loop(loop: Loop) -> Document:
    """Return from where to where it comes round, and when the first time through is over."""
    timeline = loop.timeline
    first = [bar for bar in timeline.bars if bar.run == 1 and bar.index is not None]
    return {
        "start_s": loop.start / RATE,
        "stop_s": loop.stop / RATE,
        "first_over_s": float(timeline.track_seconds(first[-1].stop)),
    }


def _bar(timeline: Timeline, place: int, number: int | None) -> Document:
    played_bar = timeline.bars[place]
    return {
        "index": played_bar.index,
        "number": played_bar.bar.number,
        "in_words": _in_words(played_bar),
        "start_s": float(timeline.track_seconds(played_bar.start)),
        "stop_s": float(timeline.track_seconds(played_bar.stop)),
        "role": played_bar.role.value,
        "run": played_bar.run,
        "beats": _beats(timeline, played_bar, number),
    }


def _in_words(played_bar: PlayedBar) -> str:
    roles = {
        Role.COUNT_IN: "counting in",
        Role.BETWEEN: "a counted bar",
        Role.LISTEN: "listen",
        Role.ANSWER: "your answer",
    }
    named = [] if played_bar.index is None else [bar_in_words(played_bar.bar.number)]
    named += [roles[played_bar.role]] if played_bar.role in roles else []
    return ", ".join(named)


def _beats(timeline: Timeline, played_bar: PlayedBar, number: int | None) -> list[Document]:
    """Return each beat of a bar: when, and what one says; the bar's number on "one" of a long rest."""
    beats = played_bar.bar.metre.beats
    return [
        {
            "time_s": float(timeline.track_seconds(played_bar.nominal + beat.start)),
            "say": str(number) if number is not None and not place else str(place + 1),
            "at": float(beat.start),
        }
        for place, beat in enumerate(beats)
        if played_bar.bar.begins <= beat.start < played_bar.bar.ends
    ]
