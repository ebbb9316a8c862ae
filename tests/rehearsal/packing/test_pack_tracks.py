"""What one hears in the tracks of a pack, and how their files are named."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.coach.ladder import ladder
from rhythmtrain.coach.practice_order import Step
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.rehearsal.packing.tracks import PackTrack, pack_plan, pack_tracks
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.score.passage import Passage
from rhythmtrain.units import Bpm

PLAIN = 'title = "Two bars"\nmetre = "2/4"\ntempo = 72\nrhythm = "1 & 2 | 1 (2)"\n'
TEMPO = Bpm(36.0)


def passage(text: str = PLAIN) -> Passage:
    """Return the passage of a drill."""
    found = read_drill(text, name="two.toml").passage
    assert found is not None
    return found


def planned(step: Step | None, text: str = PLAIN) -> Plan:
    """Return the plan of one track at 36."""
    return pack_plan(passage(text), PackTrack(step, TEMPO, "x"))


def heard(plan: Plan, layer: Layer, repeat: int | None = None) -> list[str]:
    """Return the texts heard in a layer, in all runs or in one."""
    return [
        each.text
        for each in plan.prompts
        if each.layer is layer and repeat in (None, each.repeat) and each.repeat
    ]


@given(
    tempo=st.floats(20, 300).map(lambda bpm: round(bpm, 2)),
    rungs=st.integers(1, 40),
)
def test_names_sort_in_practice_order_and_by_tempo(tempo: float, rungs: int) -> None:
    """A phone's file list is the only page that some students ever open."""
    tempi = ladder(tempo, rungs=rungs)
    tracks = list(pack_tracks(tempi, "mp3"))
    sound = [track.file for track in tracks if track.step is not None]
    midi = [track.file for track in tracks if track.step is None]
    assert sound == sorted(sound)
    assert midi == sorted(midi)
    assert len(set(sound + midi)) == len(tracks)
    assert len(midi) == len(tempi)


@pytest.mark.parametrize(
    ("tempi", "name"),
    [
        ((36.0, 72.0), "01-listen-36.mp3"),
        ((48.0, 96.0, 100.0), "01-listen-048.mp3"),
        ((48.0, 72.5), "01-listen-48.0.mp3"),
    ],
)
def test_a_name_says_what_it_is_and_its_tempo(tempi: tuple[float, ...], name: str) -> None:
    """A teacher reads out "the one with 48" and everybody finds it."""
    assert next(pack_tracks(tuple(map(Bpm, tempi)), "mp3")).file == name


def test_listening_gives_the_rhythm_twice_with_click_and_count() -> None:
    """The first thing is to hear it whole."""
    plan = planned(Step.LISTEN)
    assert len(heard(plan, Layer.CLAP)) == 2 * 4
    assert heard(plan, Layer.CLICK, repeat=1)
    assert heard(plan, Layer.COUNT, repeat=1)
    assert plan.tempo_words == "quarter = 36"


def test_listening_gives_the_tune_where_there_is_one() -> None:
    """A rhythm with pitches is heard as the tune it is, and clapped later."""
    plan = planned(Step.LISTEN, PLAIN + 'tune = "D5 E5 F#5 D5"\n')
    assert len(heard(plan, Layer.TUNE)) == 2 * 4
    assert not heard(plan, Layer.CLAP)


def test_the_cue_is_heard_where_there_is_one() -> None:
    """The other player's rhythm tells where to come in; it is never taken away."""
    text = PLAIN + 'cue = "1 2 | 1 & 2"\n'
    for step in Step:
        assert heard(planned(step, text), Layer.CUE)


def test_echo_leaves_as_many_bars_empty_as_were_heard() -> None:
    """The answer is the player's own."""
    plan = planned(Step.ECHO)
    assert len(heard(plan, Layer.CLAP)) == 4
    whole = replace(plan, prompts=()).duration_s
    assert whole == pytest.approx((1 + 2 + 2) * 2 * 60 / 36)


def test_help_fades_and_comes_back() -> None:
    """Help that is always there is leaned on."""
    plan = planned(Step.WITH_HELP)
    assert [len(heard(plan, Layer.CLAP, repeat=run)) for run in (1, 2, 3, 4)] == [4, 0, 0, 4]
    assert len(heard(plan, Layer.CLICK, repeat=3)) < len(heard(plan, Layer.CLICK, repeat=2))


def test_alone_means_that_no_clap_is_heard_and_the_count_goes_first() -> None:
    """The last run has the click and nothing else."""
    plan = planned(Step.ALONE)
    assert not heard(plan, Layer.CLAP)
    words = [len(heard(plan, Layer.COUNT, repeat=run)) for run in (1, 2, 3)]
    assert words[0] >= words[1] > words[2] == 0
    assert heard(plan, Layer.CLICK, repeat=3)


def test_midi_has_the_rhythm_once_with_its_tune() -> None:
    """A music program is given everything, to leave out what it likes."""
    plan = planned(None, PLAIN + 'tune = "D5 E5 F#5 D5"\n')
    assert len(heard(plan, Layer.TUNE)) == len(heard(plan, Layer.CLAP)) == 4
