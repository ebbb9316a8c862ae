"""Writing down a clapped take as a drill."""

from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.notate.rhythm.transcribe import Asked, Transcription, straight_again, transcribe
from rhythmtrain.rehearsal.checking.listening import hear_take
from rhythmtrain.rehearsal.checking.talk_doubts import talk_doubts
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.remedies import option, remedy
from rhythmtrain.report.passage.written_down import (
    BarTold,
    WrittenDown,
    written_comments,
    written_document,
    written_text,
)
from rhythmtrain.score.drill.writer import write_drill
from rhythmtrain.score.metre import Metre
from rhythmtrain.storage.safely import check_place, write_bytes_safely

MOST_METRES = 999
CHANGES = '"2/4 2/4 3/4 2/4"'
CLAPS = "claps"


@dataclass(frozen=True, slots=True)
class TranscribeWish:
    """What is to be written down, and what is known of it: options as typed.

    ``aloud`` is whether somebody may talk or count in the take: then claps are told from the voice.
    """

    metre: str | None = None
    tempo: float | None = None
    beat: str | None = None
    first: str = "1"
    times: int | None = None
    title: str | None = None
    kind: str = "claps"
    aloud: bool = True
    output: Path | None = None


def transcribe_file(path: Path, wish: TranscribeWish, *, progress: Progress = quietly) -> Told:
    """Return the rhythm clapped in the take at ``path``; writes the drill where asked.

    Raises:
        RequestError: no metre, a count or tempo that makes no sense, tries that do not divide.
        TakeError: nothing was heard, or no rhythm fits it.
        FileError: the take does not read, or the drill cannot be written.
    """
    if wish.output is not None:
        if wish.output.suffix.lower() != ".toml":
            raise RequestError(
                f"a drill is a .toml file: name it like drill.toml, not {wish.output}"
            )
        check_place(wish.output)
    asked = Asked(
        _metres(wish), wish.tempo, wish.first, wish.times, wish.title or path.stem or "Written down"
    )
    aloud = wish.aloud and wish.kind == CLAPS
    take = hear_take(path, kind=wish.kind, aloud=aloud, progress=progress)
    try:
        found = transcribe(take.times_s, asked)
    except DrillError as error:
        raise RequestError(f"{option('first', wish.first)}: {error.message}") from error
    said = take.remarks
    if aloud and take.source == "audio":
        said += talk_doubts(take, hear_take(path, kind=wish.kind))
    written = _told(found, take.name, wish)
    if wish.output is None:
        return Told(written_text(written), written_document(written), warnings=said)
    drill = written_comments(written) + write_drill(found.passage)
    write_bytes_safely(wish.output, drill.encode("utf-8"))
    text = written_text(written, file=str(wish.output))
    document = written_document(written) | {"file": str(wish.output)}
    return Told(text, document, (wish.output,), said)


def _metres(wish: TranscribeWish) -> tuple[Metre, ...]:
    """Return the metre of each bar that was said."""
    words = (wish.metre or "").replace(",", " ").split()
    if not words:
        raise RequestError(
            f"say the metre, such as {remedy('value', 'metre', '2/4')}: claps do not tell where a bar "
            f"begins (where it changes, bar by bar: {remedy('value', 'metre', CHANGES)}; the last "
            "goes on)"
        )
    if len(words) > MOST_METRES:
        raise RequestError(
            f"{option('metre')} has {len(words)} metres; at most {MOST_METRES} are read"
        )
    try:
        return tuple(Metre.parse(word, beat=wish.beat) for word in words)
    except DrillError as error:
        raise RequestError(error.message) from error


def _told(found: Transcription, name: str, wish: TranscribeWish) -> WrittenDown:
    claps = sum(place.kind == "played" for bar in found.passage.bars for place in bar.places)
    return WrittenDown(
        take=name,
        claps=claps * found.tries,
        passage=found.passage,
        bars=tuple(
            BarTold(each.bar, each.chance, each.doubtful, each.doubts) for each in found.bars
        ),
        tempo=found.tempo,
        guessed=wish.tempo is None,
        spread_s=found.spread_s,
        tries=found.tries,
        left_out=found.left_out,
        again=straight_again(found.passage) if wish.times is None else None,
    )
