"""Honest takes of every kind are told nothing false: not late, not another piece, not out by a bar."""

from fractions import Fraction

import numpy as np
import pytest

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.written import written_of
from rhythmtrain.report.take.flags import flags
from rhythmtrain.report.take.playing import NOTES
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.troubles import troubles
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.heard import passage_of
from tests.simulate.players import Floats, clapped
from tests.simulate.rhythms import even_passage

START_S = 4.0
TEMPO_UNKNOWN, ALL_KNOWN = Settings(speed=None), Settings(start_s=START_S)
QUARTERS = "1 2 3 4 | 1 [2] 3 4 | 1 2 & 3 [4] | 1 & 2 3 4 |"


def played(
    passage: Passage, seed: int, *, speed: float = 1.0, uneven_s: float, slower: float = 0
) -> Floats:
    """Return a take at a speed, that gets slower (or faster) by a share of its tempo on the way."""
    times = written_of(lay_out(passage, Practice(speed))).times_s
    way = (times - times[0]) / (times[-1] - times[0]) - 0.5
    times = times[0] + np.concatenate(([0.0], np.cumsum(np.diff(times) * (1 + slower * way[1:]))))
    return np.asarray(times + START_S + np.random.default_rng(seed).normal(0, uneven_s, len(times)))


def found(passage: Passage, times_s: Floats, settings: Settings, speed: float = 1.0) -> Findings:
    """Return the findings; ``speed`` is that of the track, where it is known."""
    timeline = lay_out(passage, Practice(speed))
    return check_take(timeline, clapped(times_s).take(), settings)


def said(passage: Passage, findings: Findings) -> list[str]:
    """Return what is said to be amiss."""
    heard = Heard(findings, passage, flags(findings), NOTES)
    return [trouble.words for trouble in troubles(heard)]


def test_who_gets_slower_over_a_minute_is_early_nowhere() -> None:
    """Some per cent in a minute: the beat of the beginning is not that of the middle."""
    passage = passage_of(QUARTERS * 4, "4/4", tempo=60)
    findings = found(passage, played(passage, 3, uneven_s=0.02, slower=-0.055), TEMPO_UNKNOWN)
    assert not any(note.plain for note in findings.notes)
    assert said(passage, findings) == []


def test_notes_two_bars_apart_show_a_tempo_that_breathes_too() -> None:
    """Each is a phrase of its own, and still they go along one way."""
    passage = passage_of("1 [2 3 4] | [1 2] 3 [4] |" * 10, "4/4", tempo=90)
    findings = found(passage, played(passage, 2, uneven_s=0.01, slower=0.03), TEMPO_UNKNOWN)
    assert said(passage, findings) == []


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("settings", [TEMPO_UNKNOWN, ALL_KNOWN])
def test_eight_notes_show_no_drift(settings: Settings, seed: int) -> None:
    """Four against four: the halves of an even player differ by some per cent, by luck alone."""
    passage = even_passage(2, 92 if settings.speed is None else 240)
    findings = found(passage, played(passage, seed, uneven_s=0.02), settings)
    assert said(passage, findings) == []


def test_a_plain_drift_is_told_of_eight_notes_too() -> None:
    """What cannot be luck is said."""
    passage = even_passage(2, 92)
    findings = found(passage, played(passage, 1, uneven_s=0.005, slower=0.3), TEMPO_UNKNOWN)
    assert any(words.startswith("You got slower") for words in said(passage, findings))


@pytest.mark.parametrize("seed", range(4))
def test_whole_notes_of_an_uneven_player_are_no_other_piece(seed: int) -> None:
    """Even notes lose nothing by shuffling; but where nearly all are there, they are the passage."""
    passage = even_passage(12, 150, step=Fraction(4))
    findings = found(passage, played(passage, seed, uneven_s=0.04), ALL_KNOWN)
    assert findings.looks_like is True


def test_whole_notes_that_get_slower_are_no_other_piece() -> None:
    """Every one lies some steps from where the one before let it be looked for."""
    passage = even_passage(14, 40, step=Fraction(4))
    findings = found(passage, played(passage, 3, uneven_s=0.01, slower=0.05), TEMPO_UNKNOWN)
    assert findings.looks_like is True


def test_a_tempo_that_breathes_over_a_long_rest_is_no_early_entry() -> None:
    """With nothing that keeps time, two per cent in six bars are half a beat."""
    passage = passage_of(
        "1 & 2 3 4 | rest 4 | 1 2 3 & 4 | 1 2 3 4 | rest 6 | 1 & 2 3 & 4 | 1 & 2 3 4 | 1 (2 3 4)",
        "4/4",
        tempo=72,
    )
    findings = found(passage, played(passage, 1, uneven_s=0.01, slower=0.037), TEMPO_UNKNOWN)
    assert said(passage, findings) == []
    assert {entry.verdict for entry in findings.entries} <= {"in time", "early", "late"}


def test_a_beat_miscounted_in_a_short_rest_is_told_without_a_tempo_too() -> None:
    """Two bars are counted well enough to tell a beat."""
    passage = passage_of("1 & 2 3 4 | 1 2 3 4 | rest 2 |" + QUARTERS * 2, "4/4", tempo=72)
    times = played(passage, 1, uneven_s=0.01)
    late = written_of(lay_out(passage)).times_s > 4 * 4 * 60 / 72 - 0.1
    findings = found(passage, np.where(late, times + 60 / 72, times), TEMPO_UNKNOWN)
    assert [entry.verdict for entry in findings.entries] == ["one beat late"]


@pytest.mark.parametrize("bars", [1, 2])
@pytest.mark.parametrize("pause_s", [1.7, 3.1])
def test_who_begins_again_has_not_come_in_beats_late(bars: int, pause_s: float) -> None:
    """The start that was given is where the first try began; of the second nobody said."""
    passage = passage_of(QUARTERS * 2, "4/4", tempo=96)
    times = played(passage, 5, uneven_s=0.01)
    first = times[: bars * 4]
    again = np.concatenate((first, times - times[0] + first[-1] + pause_s))
    findings = found(passage, again, ALL_KNOWN)
    assert (len(findings.tries), findings.shown, findings.shift_beats) == (2, 1, None)
    assert said(passage, findings) == []


@pytest.mark.parametrize("seed", range(8))
def test_close_even_notes_are_not_taken_for_their_neighbours(seed: int) -> None:
    """The start is known: nobody clapped sixteenths a sixteenth early, all but the last."""
    passage = passage_of("1 e & a 2 e & a |" * 4, "2/4", tempo=60)
    rng = np.random.default_rng(seed)
    lag_s = float(rng.uniform(-0.06, 0.08))
    times = written_of(lay_out(passage)).times_s + START_S + lag_s
    findings = found(passage, times + rng.normal(0, 0.012, len(times)), ALL_KNOWN)
    assert findings.spread is not None
    assert findings.spread.median_s == pytest.approx(lag_s, abs=0.015)
    assert findings.tally.missed == 0


def test_notes_exactly_a_bar_apart_are_one_phrase() -> None:
    """Nobody rests between them, however the seconds are rounded."""
    for tempo in (45, 47, 75, 93, 101):
        written = written_of(lay_out(even_passage(24, tempo, step=Fraction(4))))
        assert not written.phrase.any()
