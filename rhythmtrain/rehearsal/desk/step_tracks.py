"""The track of one step of a session, made when the step comes, and again after a power cut.

A take that was never ended is judged against the very bars it was played to, so what the step was
is kept with it.
"""

from collections.abc import Callable, Mapping
from typing import Any

from rhythmtrain.coach.stages import Stage
from rhythmtrain.coach.task import Reason, Task
from rhythmtrain.rehearsal.cueing.followed import with_what_sounds
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_track import STEP, Made, PageWish
from rhythmtrain.rehearsal.desk.shelf import passage_path
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.desk.sounding import stems_written
from rhythmtrain.rehearsal.passages.passages import wished_passage
from rhythmtrain.rehearsal.practising.rounds import Material, Round, material_of, round_of
from rhythmtrain.rehearsal.practising.wish import PractiseWish, means_of
from rhythmtrain.storage.settings import preferences
from rhythmtrain.units import Bpm

MOST_BARS = 10_000


def material_asked(
    sitting: Sitting, asked: Asked, say: Callable[[str], None]
) -> tuple[PractiseWish, Material]:
    """Return what a session practises: "passage", heard from "source", with "instrument" or clapped.

    Raises:
        RequestError: options that do not go together.
        DrillError, FileError: the passage does not read.
    """
    instrument = asked.maybe_text("instrument")
    wish = PractiseWish(
        passage_path(sitting, asked.text("passage")),
        bars=asked.maybe_text("bars"),
        part=asked.maybe_text("part"),
        cue_part=asked.maybe_text("cue_part"),
        instrument=instrument,
        clap_only=instrument is None,
        minutes=asked.number("minutes", 10.0),
        order=asked.maybe_text("order"),
        source=asked.text("source", "keys"),
        language=preferences().language,
    )
    material = material_of(wished_passage(wish, say), means_of(wish), language=wish.language)
    return wish, material


def step_track(
    sitting: Sitting,
    wish: PractiseWish,
    material: Material,
    task: Task,
    *,
    values: Mapping[str, Any],
) -> tuple[Made, Round, tuple[str, ...]]:
    """Return the track of ``task``, what it asks for, and what the voice has no words for.

    ``values`` are those the session was begun with.
    """
    each = round_of(task, material)
    stems, unsaid = stems_written(sitting, each.sounding.plan, (), language=wish.language)
    bars = f"{min(task.bars)}-{max(task.bars)}" if task.bars else wish.bars
    page_wish = PageWish(wish.passage, bars=bars, part=wish.part, cue_part=wish.cue_part)
    again = {**values, "made_as": STEP, **_written(task)}
    plan = each.sounding.plan
    timeline = with_what_sounds(each.timeline, plan)
    made = Made(page_wish, again, timeline, plan, stems, helped=each.helped)
    return made, each, unsaid


def step_again(sitting: Sitting, asked: Asked) -> Made:
    """Return the track of a step once more, from what was kept of it.

    Raises:
        RequestError, ValueError: what was kept does not read, or the passage is gone.
    """
    wish, material = material_asked(sitting, asked, lambda _words: None)
    bars = tuple(int(Asked({"bar": bar}).whole("bar")) for bar in asked.rows("of_bars", MOST_BARS))
    task = Task(
        Stage(asked.text("stage")),
        Bpm(asked.number("of_tempo")),
        asked.whole("runs"),
        Reason.GO_ON,
        bars,
        asked.whole("help"),
    )
    return step_track(sitting, wish, material, task, values=asked.values)[0]


def _written(task: Task) -> dict[str, Any]:
    return {
        "stage": task.stage.value,
        "of_tempo": float(task.tempo),
        "runs": task.runs,
        "of_bars": list(task.bars),
        "help": task.help,
    }
