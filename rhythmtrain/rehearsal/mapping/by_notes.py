"""Mapping a recording by the accompanist's notes, and marks where a person heard them wrong."""

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.asking import UNSURE_CHANCE
from rhythmtrain.rehearsal.live.stage import Stage
from rhythmtrain.rehearsal.mapping.doubts import notes_doubts
from rhythmtrain.rehearsal.mapping.heard import Found, heard_from
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.rehearsal.recorded.notes import mapped_by_notes, marks_on, notes_for
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.remedies import option
from rhythmtrain.report.maps.text import Mapped
from rhythmtrain.storage.recordings import Recording
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat


def found_by_notes(
    recording: Recording, wish: MapWish, begin: tuple[float, Stage], progress: Progress
) -> Found:
    """Return the map from the accompanist's notes and marks; taps are not needed.

    ``begin`` is the second to begin at, and the stage, of which nothing is needed.

    Raises:
        RequestError: notes in another order, or taps beside them.
        TakeError: the notes do not fit the recording, or nothing can be heard in it.
        FileError: a file does not read.
    """
    start_s, _ = begin
    if wish.notes is None or wish.live or wish.taps is not None:
        raise RequestError(
            f"with {option('notes')} nothing has to be tapped: leave out {option('taps')} and "
            f"{option('live')}"
        )
    read = notes_for(wish, wish.notes)
    marks = marks_on(read, wish, start_s)
    heard = heard_from(recording, start_s, progress)
    pairs = mapped_by_notes(heard.spectra, read, wish, marks)
    beats = tuple(
        MappedBeat(solved.time_s + start_s, beat.bar, beat.beat, solved.uncertainty_s)
        for beat, solved in pairs
    )
    chances: dict[int, float] = {}
    for beat, solved in pairs:
        chances[beat.bar] = min(solved.chance, chances.get(beat.bar, 1.0))
    unsure = sorted((chance, bar) for bar, chance in chances.items() if chance < UNSURE_CHANCE)
    metres = dict.fromkeys(str(bar.metre) for bar in read.part.bars)
    mapped = Mapped(
        recording=recording.path.name,
        duration_s=heard.duration_s,
        metre=", ".join(list(metres)[:4]),
        beat_map=BeatMap(beats),
        unsure_bars=tuple(bar for _, bar in unsure),
        bias_s=None,
        music_s=heard.music_s,
    )
    places = [(beat, solved.time_s + start_s) for beat, solved in pairs]
    questions = notes_doubts(places, mapped.music_s)
    return Found(mapped, heard.spectra.peak, said=(*read.said, *questions))
