"""A track as the page plays it: every layer a sound file of its own.

The page plays the stems side by side on one clock, so that each can be made softer or switched off
while it sounds; together, untouched, they are the track that the command line writes.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.rehearsal.clapping.rounds import theirs
from rhythmtrain.rehearsal.cueing.followed import with_what_sounds
from rhythmtrain.rehearsal.cueing.known import part_known
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_track import Made, PageWish
from rhythmtrain.rehearsal.desk.own_voice import voice_for
from rhythmtrain.rehearsal.desk.rounds.laid import Loop, laid_in_a_loop
from rhythmtrain.rehearsal.desk.shelf import passage_path
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.desk.track_told import track_document
from rhythmtrain.rehearsal.passages.from_scores import unsaid
from rhythmtrain.rehearsal.passages.passages import practice_of, whole_passage, wished_passage
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording
from rhythmtrain.rehearsal.tracks.recordings import accompanied, laid_pieces, played, with_bars
from rhythmtrain.rehearsal.tracks.sound import RATE, worded
from rhythmtrain.rehearsal.tracks.track import counted_in, layers_named, wishes_of
from rhythmtrain.render.recorded import Played
from rhythmtrain.render.stems import stem_blocks
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.settings import preferences
from rhythmtrain.timing.timeline import Timeline, lay_out

Document = dict[str, Any]
MOST_REPEATS = 20
RECORDED = "clap,click,count,accompaniment"
MADE = "clap,click,count,tune,cue"


@dataclass(frozen=True, slots=True)
class _Laid:
    """A track before it sounds."""

    timeline: Timeline
    plan: Plan
    pieces: tuple[Played, ...]
    recording: MappedRecording | None = None
    loop: Loop | None = None
    made: Plan | None = None

    @property
    def sounding(self) -> Plan:
        """Return the plan of what is made to sound: of a loop not the whole."""
        return self.made or self.plan


def wish_of(sitting: Sitting, asked: Asked) -> PageWish:
    """Return what track the page asks for.

    Raises:
        RequestError: a value of the wrong kind, no such passage.
    """
    recorded = asked.truth("recorded")
    language = asked.text("language", preferences().language)
    return PageWish(
        passage_path(sitting, asked.text("passage")),
        bars=asked.maybe_text("bars"),
        speed=asked.maybe_number("speed"),
        tempo=asked.maybe_number("tempo"),
        repeats=min(asked.whole("repeats", 1), MOST_REPEATS),
        count_in=asked.whole("count_in", 1),
        echo=asked.whole("echo", 0),
        part=asked.maybe_text("part"),
        cue_part=asked.maybe_text("cue_part"),
        quick=asked.truth("quick"),
        fade=asked.truth("fade"),
        layers=asked.maybe_text("layers") or (RECORDED if recorded else MADE),
        say=asked.text("say", "played"),
        subdivide=None if asked.values.get("subdivide") is None else asked.whole("subdivide"),
        counting=asked.text("counting", "numbers"),
        landmarks=asked.truth("landmarks"),
        language=language,
        voice=voice_for(sitting, language),
        steady=asked.truth("steady"),
        lead_in=asked.whole("lead_in", 2),
        over=asked.truth("over"),
        theirs=asked.truth("theirs"),
    )


def track_made(sitting: Sitting, tracks: Lately[Made], asked: Asked) -> Document:
    """Make the track that is asked for and return when what falls in it, and its stems' names.

    Raises:
        RequestError: options out of range, no such passage.
        DrillError, FileError, TakeError: the passage or its recording does not read.
    """
    made, unsaid = track_asked(sitting, asked)
    return track_document(made) | {"track": tracks.keep(made), "said": list(unsaid)}


def track_asked(sitting: Sitting, asked: Asked) -> tuple[Made, tuple[str, ...]]:
    """Return the track that is asked for, and what the voice has no words for.

    Raises:
        RequestError, DrillError, FileError, TakeError: as for ``track_made``.
    """
    wish = wish_of(sitting, asked)
    laid = _laid(wish)
    stems, wordless = stems_written(sitting, laid.sounding, laid.pieces, language=wish.language)
    made = Made(
        wish,
        dict(asked.values),
        laid.timeline,
        laid.plan,
        stems,
        recording=laid.recording,
        loop=laid.loop,
    )
    return made, wordless


def stems_written(
    sitting: Sitting, plan: Plan, pieces: tuple[Played, ...], *, language: str
) -> tuple[dict[str, Path], tuple[str, ...]]:
    """Write each layer of ``plan`` to a file that goes with the sitting; return where they are.

    What the voice has no words for is returned beside them.

    Raises:
        FileError: the disk is full.
    """
    spoken, words, unsaid = worded(plan, language, voice_for(sitting, language), RATE)
    stems: dict[str, Path] = {}
    for layer, blocks in stem_blocks(spoken, pieces, words, RATE).items():
        path = sitting.passing / f"{Lately.fresh()}.flac"
        write_audio(path, blocks, RATE, title=plan.title, comment=plan.tempo_words)
        stems[layer.value] = path
    return stems, unsaid


def _laid(wish: PageWish) -> _Laid:
    passage = wished_passage(wish)
    if wish.theirs:
        passage = theirs(passage, passage.title)
    if wish.over:
        return _in_a_loop(wish, passage)
    if Layer.ACCOMPANIMENT not in layers_named(wish.layers):
        timeline = lay_out(passage, practice_of(counted_in(wish), passage))
        plan = plan_track(timeline, wishes_of(wish))
        return _Laid(with_what_sounds(timeline, plan), plan, ())
    whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
    found = accompanied(
        wish, passage, whole, files=wish.files, even=wish.steady, lead_in=wish.lead_in
    )
    laid = laid_pieces(found.timeline, found.found.mapped, Layer.ACCOMPANIMENT)
    pieces = played(laid, found.found.recording, rate=RATE)
    plan = with_bars(plan_track(found.timeline, wishes_of(wish)), laid, found.timeline)
    part = part_known(wish.passage, None, unsaid, beside_too=not passage.cue)
    return _Laid(with_what_sounds(found.timeline, plan, part), plan, pieces, found.found)


def _in_a_loop(wish: PageWish, passage: Passage) -> _Laid:
    whole, made, loop = laid_in_a_loop(wish, passage)
    sounding = made.sounding
    pieces: tuple[Played, ...] = ()
    if sounding.recording is not None:
        pieces = played(sounding.plan.laid, sounding.recording, rate=RATE)
    return _Laid(whole.timeline, whole.sounding.plan, pieces, whole.recording, loop, sounding.plan)
