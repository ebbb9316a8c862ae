"""Whole takes with one fault all through: told as that fault, not as another passage or tempo."""

from dataclasses import dataclass

import numpy as np
import pytest

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.figures.misread import misreadings
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.written import written_of
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.storage.drills import load_drill
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out

START_S = 2.0
SEEDS = range(4)


@dataclass(frozen=True, slots=True)
class Player:
    """A drill and somebody who plays it ``faster`` than written, ``uneven_s`` beside the beat."""

    drill: str
    faster: float = 1.0
    uneven_s: float = 0.015

    def timeline(self, speed: float | None = None) -> Timeline:
        """Return the drill as written, or at a share of its tempo."""
        passage = load_drill(self.drill).passage
        assert passage is not None
        return lay_out(passage, Practice(speed=speed or 1.0))

    def judged(self, late_s: np.ndarray, seed: int, *, speed: float | None) -> Findings:
        """Return what is found where every note came ``late_s`` beside its written time."""
        timeline = self.timeline()
        times = START_S + (written_of(timeline).times_s + late_s) / self.faster
        times += np.random.default_rng(seed).normal(0, self.uneven_s, len(times))
        heard = tuple(Heard(float(time)) for time in np.sort(times))
        asked = self.timeline(speed)
        return check_take(asked, Take("text", "take", heard, 60.0), Settings(speed=speed))


def misread(player: Player) -> np.ndarray:
    """Return how late each note comes where every dotted pair of 2/4 is played even."""
    timeline = player.timeline()
    own = [note for note in timeline.notes if note.expected]
    moved = [note.at - note.at.numerator // note.at.denominator == 0.75 for note in own]
    quarter_s = 60 / float(timeline.passage.tempo)
    return np.where(moved, -quarter_s / 4, 0.0)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("speed", [None, 0.9])
def test_every_dotted_pair_played_even_is_one_mistake_and_the_right_passage(
    seed: int, speed: float | None
) -> None:
    """The commonest misreading of all is named; nobody is told that it is another passage."""
    player = Player("16-dotted-eighths", faster=0.9)
    findings = player.judged(misread(player), seed, speed=speed)
    assert findings.looks_like
    assert findings.speed == pytest.approx(0.9 if speed is None else speed, rel=0.02)
    (mistake,) = findings.mistakes
    assert (mistake.what, mistake.times, mistake.of) == ("dotted played even", 9, 9)
    early = {n for n, note in enumerate(findings.notes) if note.verdict is Verdict.EARLY}
    assert early <= set(mistake.notes)


def test_played_freely_it_is_the_same_one_mistake() -> None:
    """With nothing that keeps time there is all the more reason to name it."""
    player = Player("16-dotted-eighths", faster=0.9)
    timeline = player.timeline()
    times = START_S + (written_of(timeline).times_s + misread(player)) / player.faster
    heard = tuple(Heard(float(time)) for time in times)
    findings = check_take(timeline, Take("text", "take", heard, 60.0), Settings("free"))
    assert findings.looks_like
    assert findings.speed == pytest.approx(0.9, rel=0.02)
    assert [(each.what, each.times) for each in findings.mistakes] == [("dotted played even", 9)]


def test_a_passage_without_such_figures_has_no_other_reading() -> None:
    """Steady quarters can be misread in no way that has a name."""
    for drill in ("01-steady-quarters", "02-quarters-and-rests"):
        timeline = Player(drill).timeline()
        assert not list(misreadings(timeline, written_of(timeline)))


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("beats", "told"), [(1, "one beat late"), (-2, "one bar early")])
def test_an_entry_out_by_beats_is_told_where_nobody_said_how_fast_it_was(
    seed: int, beats: int, told: str
) -> None:
    """A beat late after eight bars is not 4 % slower all through, nor "getting faster"."""
    player = Player("towpath-entry")
    timeline = player.timeline()
    entry = timeline.entries[0]
    bars = np.array([note.place for note in timeline.notes if note.expected])
    beat_s = 60 / float(timeline.passage.tempo)
    late = np.where(bars >= timeline.notes[entry.note].place, beats * beat_s, 0.0)
    findings = player.judged(late, seed, speed=None)
    assert [each.verdict for each in findings.entries] == [told]
    assert findings.speed == pytest.approx(1.0, rel=0.015)
    assert not any(note.plain for note in findings.notes)


@pytest.mark.parametrize("seed", SEEDS)
def test_an_entry_in_time_stays_in_time_where_nobody_said_how_fast_it_was(seed: int) -> None:
    """Looking for counts that were lost finds none where none was."""
    player = Player("towpath-entry", faster=0.83, uneven_s=0.020)
    findings = player.judged(np.zeros(15), seed, speed=None)
    assert findings.entries[0].verdict == "in time"
    assert findings.speed == pytest.approx(0.83, rel=0.01)


@pytest.mark.parametrize("seed", [0, 3])
@pytest.mark.parametrize("beats", [1, -1, -2, 0.5])
def test_a_phrase_that_came_in_elsewhere_makes_no_note_of_another_phrase_late(
    beats: float, seed: int
) -> None:
    """After a rest the beat is found anew, so each phrase is held against its own habit."""
    player = Player("12-counting-rests", uneven_s=0.020)
    timeline = player.timeline()
    entry = timeline.entries[0]
    bars = np.array([note.place for note in timeline.notes if note.expected])
    beat_s = 60 / float(timeline.passage.tempo)
    late = np.where(bars >= timeline.notes[entry.note].place, beats * beat_s, 0.0)
    assert not any(note.plain for note in player.judged(late, seed, speed=None).notes)
