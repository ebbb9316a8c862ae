"""Any take against any passage: findings that add up, or one sentence; never anything else."""

import math
from dataclasses import asdict

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.errors import RequestError
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.passages import passages


def numbers(value: object) -> list[float]:
    """Return every float in the findings, wherever it stands."""
    if isinstance(value, float):
        return [value]
    if isinstance(value, dict):
        return [each for item in value.values() for each in numbers(item)]
    if isinstance(value, tuple | list):
        return [each for item in value for each in numbers(item)]
    return []


def adds_up(findings: Findings, timeline: Timeline, claps: int) -> None:
    """Assert what holds for the findings of any take."""
    tally = findings.tally
    assert tally.expected == len(findings.notes) == sum(n.expected for n in timeline.notes)
    assert tally.expected == tally.matched + tally.missed + tally.not_checked
    assert tally.matched + tally.extra <= claps
    assert tally.extra == len(findings.extras)
    assert all(math.isfinite(number) for number in numbers(asdict(findings)))
    played = [note.played_s for note in findings.notes if note.played_s is not None]
    assert len(played) == len(set(played)) == tally.matched
    told = {Verdict.IN_TIME, Verdict.EARLY, Verdict.LATE}
    assert all((note.verdict in told) == (note.offset_s is not None) for note in findings.notes)
    assert len(findings.entries) == len(timeline.entries)
    assert 0 <= findings.shown < len(findings.tries)
    assert sum(bar.matched for bar in findings.bars) == tally.matched
    assert sum(bar.extra for bar in findings.bars) == tally.extra


@given(
    passages(),
    st.lists(st.integers(0, 3000), min_size=1, max_size=40),
    st.sampled_from([1.0, None]),
    st.sampled_from([None, 0.0, 3.0]),
    st.integers(1, 3),
)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_findings_add_up_for_any_claps(
    passage: Passage, steps: list[int], speed: float | None, start_s: float | None, repeats: int
) -> None:
    """Rubbish in must still come out as sentences a person can read."""
    timeline = lay_out(passage, Practice(repeats=repeats, echo=0))
    take = Take("text", "any", tuple(Heard(step / 100) for step in sorted(steps)), 31.0)
    try:
        findings = check_take(timeline, take, Settings(speed=speed, start_s=start_s))
    except RequestError as error:
        assert "no notes to play" in str(error)  # noqa: PT017
        return
    adds_up(findings, timeline, len(steps))


@given(passages(), st.integers(1, 2))
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_what_is_played_as_written_is_wholly_in_time(passage: Passage, repeats: int) -> None:
    """Whatever the metre, upbeat, syncopation or rest: a perfect take is perfect."""
    timeline = lay_out(passage, Practice(repeats=repeats))
    times = [float(timeline.seconds(note.at)) + 9 for note in timeline.notes]
    if not times or min(b - a for a, b in zip(times, [*times[1:], math.inf], strict=True)) < 0.1:
        return
    take = Take("text", "any", tuple(map(Heard, times)), times[-1] + 1)
    findings = check_take(timeline, take, Settings(speed=1.0, start_s=9.0))
    assert {note.verdict for note in findings.notes} == {Verdict.IN_TIME}
    assert all(entry.verdict == "in time" for entry in findings.entries)
    assert findings.mistakes == ()
    assert findings.looks_like is not False
