"""A clap that may have gone unheard beside the loudspeaker is not called missed."""

from dataclasses import replace

import numpy as np

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.timing.timeline import lay_out
from tests.simulate.passages import bar, passage

SCORE = lay_out(
    passage(
        bar(1, 0, 1, "3/2", 2, 3),
        bar(2, 0, "3/4", 1, 2, 3),
        bar(3, 0, "1/2", 1, 2, "7/2"),
        bar(4, 0, "3/4", 1, "3/2", 2),
        tempo=75,
    )
)
START_S = 2.0
DUE_S = START_S + np.array([float(SCORE.seconds(note.at)) for note in SCORE.notes])
UNHEARD = (3, 9, 14)


def _found(*, hidden_s: tuple[float, ...]) -> Findings:
    rng = np.random.default_rng(4)
    times = np.delete(DUE_S, UNHEARD) - 0.025 + rng.normal(0, 0.010, len(DUE_S) - len(UNHEARD))
    heard = tuple(Heard(time) for time in times.tolist())
    take = replace(Take("audio", "microphone", heard, 30.0), hidden_s=hidden_s)
    return check_take(SCORE, take, Settings(start_s=START_S))


def test_what_may_have_gone_unheard_is_not_checked() -> None:
    """The loudspeaker was too loud there; the player is not blamed for it."""
    findings = _found(hidden_s=tuple(DUE_S.tolist()))
    assert [findings.notes[note].verdict for note in UNHEARD] == [Verdict.NOT_CHECKED] * 3
    assert (findings.tally.missed, findings.tally.not_checked) == (0, 3)
    assert findings.tally.matched == len(DUE_S) - len(UNHEARD)


def test_what_could_be_heard_and_was_not_is_missed() -> None:
    """Only where something loud began is there a doubt."""
    apart = tuple((DUE_S[np.array(UNHEARD)] + 0.15).tolist())
    for hidden_s in ((), apart):
        findings = _found(hidden_s=hidden_s)
        assert (findings.tally.missed, findings.tally.not_checked) == (3, 0)
