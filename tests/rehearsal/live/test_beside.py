"""Claps heard past a loudspeaker, in rooms on which nothing was chosen."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from rhythmtrain.hearing.bleed.bleed import cleared, removal_db
from rhythmtrain.hearing.bleed.delay import EVEN, measured_delay
from rhythmtrain.hearing.gaps.finding import Hint
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.live.beside import HeardBeside, heard_beside
from rhythmtrain.rehearsal.live.sound_delay import Delay
from tests.simulate.microphone_table import told
from tests.simulate.onset_score import scored
from tests.simulate.plans import prompt
from tests.simulate.rooms import CASES, Case, mixed, rendered, scene_of
from tests.simulate.talked_takes import talk_alone

LENGTH_S = 24.0
SHORT_S, RATE = 2.5, 44_100
CLAPS_S = (0.86, 1.23, 1.91, 2.25)
STILL = CASES["still room, overload"]


def _scored(case: Case, number: int, bleed_db: float) -> tuple[float, float, int]:
    take = mixed(scene_of("held out", case, number, LENGTH_S), case, bleed_db=bleed_db)
    found = heard_beside(take.heard, take.track, take.rate).take.times_s
    score = scored([(np.array(take.claps_s), np.array(found))])
    return score.f, score.error_s(95), score.found - score.matched


@pytest.mark.parametrize("bleed_db", [0, 12])
def test_claps_are_heard_past_the_loudspeaker(bleed_db: int) -> None:
    """Also those on a click, and no click is taken for a clap."""
    f, error_s, too_many = _scored(STILL, 3, bleed_db)
    assert f >= (0.97 if bleed_db else 0.99)
    assert error_s <= 0.004
    assert too_many <= 1


@pytest.mark.parametrize("bleed_db", [0, 12])
def test_a_silent_player_gives_no_onsets(bleed_db: int) -> None:
    """What is left of the loudspeaker is nobody's clap."""
    scene = scene_of("held out", STILL, 3, LENGTH_S)
    take = mixed(scene, replace(STILL, claps=False), bleed_db=bleed_db)
    assert heard_beside(take.heard, take.track, take.rate).take.heard == ()


def test_a_take_of_which_most_was_lost_is_not_judged() -> None:
    """A sound server that is held up again and again leaves crumbs, and a crumb is nobody's clap."""
    take = mixed(scene_of("held out", STILL, 3, 8.0), STILL, bleed_db=0)
    firsts = range(take.rate, len(take.heard) - take.rate, round(0.15 * take.rate))
    hints = [Hint(first, first + 1024) for first in firsts]
    beside = heard_beside(take.heard, take.track, take.rate, hints=hints)
    assert beside.take.heard == ()
    assert "more than half of the take" in beside.unjudged
    whole = heard_beside(take.heard, take.track, take.rate)
    assert whole.take.heard
    assert not whole.unjudged


@pytest.mark.parametrize(("half", "number"), [("tune", 1), ("held out", 101)])
def test_a_single_clap_is_heard(half: str, number: int) -> None:
    """Who comes in once, on the last note, and softer than the loudspeaker, did come in."""
    scene = scene_of(half, STILL, number, 16.0)
    begins, ends = sorted(scene.onsets_s)[len(scene.onsets_s) // 2 :][:2]
    first, stop = (round((each - 0.004) * scene.rate) for each in (begins, ends))
    single = np.zeros_like(scene.played)
    single[first:stop] = scene.played[first:stop]
    take = mixed(replace(scene, played=single, onsets_s=(begins,)), STILL, bleed_db=0)
    found = heard_beside(take.heard, take.track, take.rate).take.times_s
    assert found == pytest.approx(take.claps_s, abs=0.004)


def test_a_dry_run_hears_past_its_own_loudspeaker() -> None:
    """The shipped room holds a loudspeaker: every clap is still there, and it is said."""
    heard = clap_along(ClapWish("towpath-rag", bars="1-4", source="mic", dry_run=True))
    tally = heard.document["tally"]
    assert (tally["missed"], tally["extra"]) == (0, 0)
    assert "it was taken out" in heard.text


@pytest.mark.long
@pytest.mark.parametrize("name", CASES)
def test_the_cases_of_the_table(name: str) -> None:
    """Three takes of each case, as loud as the claps, and the same with nobody playing."""
    row = told("held out", CASES[name], 3, bleed_db=0)
    assert row.claps.f >= (0.9 if name == "syllables" else 0.98)
    assert row.worst_ms < 1.0
    assert row.claps.silent == 0


def test_sound_that_was_lost_on_the_way_moves_nobody() -> None:
    """A buffer of 10 ms that the input dropped, and nobody told: the track itself tells."""
    take = mixed(scene_of("held out", STILL, 3, LENGTH_S), STILL, bleed_db=0)
    at, lost = 12 * take.rate, take.rate // 100
    heard = np.concatenate([take.heard[:at], take.heard[at + lost :]])
    beside = heard_beside(heard, take.track, take.rate)
    (gap,) = beside.lost
    assert gap.first_s < at / take.rate - take.delay_s < gap.last_s
    assert gap.last_s - gap.first_s < 0.5
    truth, found = np.array(take.claps_s), np.array(beside.take.times_s)
    truth = truth[(truth < gap.first_s) | (truth > gap.last_s)]
    score = scored([(truth, found)])
    assert score.f >= 0.97
    assert score.error_s(95) <= 0.004


def test_clicks_alone_that_cannot_be_taken_out_are_not_judged() -> None:
    """Half of the claps would be the click's own; the remedy is said instead."""
    case = replace(STILL, layers=("click",))
    take = mixed(scene_of("held out", case, 2, 10.0), case, bleed_db=0)
    beside = heard_beside(take.heard, take.track, take.rate)
    assert "Keep the spoken count" in beside.unjudged
    assert beside.take.heard == ()


def test_claps_on_headphones_are_heard_beside_clicks_alone() -> None:
    """Claps on clicks look a little like a track that comes round; none of it is heard."""
    case = replace(STILL, layers=("click",))
    take = mixed(scene_of("held out", case, 3, 8.0), case, bleed_db=-90)
    beside = heard_beside(take.heard, take.track, take.rate)
    assert len(beside.take.heard) == len(take.claps_s)
    assert beside.unjudged == ""


def _round_track() -> np.ndarray:
    """Return a bar of count and two bars clapped, at a tempo at which each lasts 0.83 s."""
    beat_s = 60 / 144
    prompts = [
        prompt(beat * beat_s, Layer.CLICK, ("downbeat", "beat")[beat % 2]) for beat in range(6)
    ]
    prompts += [prompt(beat * beat_s, Layer.COUNT, str(1 + beat % 2)) for beat in range(6)]
    prompts += [prompt(beat * beat_s, Layer.CLAP, "note") for beat in (2, 3, 4.5, 5.5)]
    prompts.sort(key=lambda each: each.time_s)
    return rendered(prompts, SHORT_S, RATE, "en")


def _in_a_room(track: np.ndarray, late_s: float) -> np.ndarray:
    rng = np.random.default_rng(6)
    response = 0.05 * rng.standard_normal(6000) * np.exp(-np.arange(6000) / 900)
    response[0] = 1.0
    heard = np.convolve(np.concatenate([np.zeros(round(late_s * RATE)), track]), response)
    noise = 1e-3 * rng.standard_normal(len(track))
    return (0.5 * heard[: len(track)] + noise).astype(np.float32)


@pytest.mark.parametrize("kept", [None, Delay(0.0305, 0.002, known=True)])
def test_a_short_track_that_comes_round_is_nobodys_clapping(kept: Delay | None) -> None:
    """Two bars at twice the tempo: the track's own claps are not counted for the player's."""
    track = _round_track()
    heard = _in_a_room(track, 0.030)
    assert measured_delay(heard, track, RATE).refused == EVEN
    found = heard_beside(heard, track, RATE, kept=kept)
    assert found.take.heard == ()
    assert found.delay.known == (kept is not None)


def test_claps_over_a_track_that_comes_round_stand_where_the_kept_delay_says() -> None:
    """Where the machine was measured once, three seconds are enough; else nothing is made up."""
    track = _round_track()
    heard = _in_a_room(track, 0.030)
    rng = np.random.default_rng(7)
    for time_s in CLAPS_S:
        at = round((time_s + 0.030) * RATE)
        heard[at : at + 3000] += rng.standard_normal(3000) * np.exp(-np.arange(3000) / 200)
    found = heard_beside(heard, track, RATE, kept=Delay(0.0305, 0.002, known=True))
    assert found.take.times_s == pytest.approx(CLAPS_S, abs=0.003)
    guessed = heard_beside(heard, track, RATE)
    assert not guessed.delay.known
    assert guessed.unjudged or guessed.take.times_s == pytest.approx(CLAPS_S, abs=0.003)


@pytest.mark.parametrize(("noise", "said"), [(0.003, ""), (0.02, "nobody playing")])
def test_a_thin_loudspeaker_is_no_player(noise: float, said: str) -> None:
    """Only its highest tones arrive: taken out, or known by the track's times to the millisecond."""
    rng = np.random.default_rng(8)
    track = np.zeros(8 * RATE, np.float32)
    for time_s in np.cumsum(rng.choice((0.4, 0.6, 0.9), 10)):
        at = round(time_s * RATE)
        track[at : at + 1500] = rng.standard_normal(1500) * np.exp(-np.arange(1500) / 250)
    thin = sosfilt(butter(8, 11_000, "high", fs=RATE, output="sos"), track)
    heard = np.concatenate([np.zeros(2000), thin])[: len(track)]
    heard = (heard + noise * rng.standard_normal(len(track))).astype(np.float32)
    found = heard_beside(heard, track, RATE)
    assert found.take.heard == ()
    assert said in found.unjudged


def test_what_a_short_take_says_of_the_loudspeaker_is_not_more_than_is_true() -> None:
    """A fit flatters itself in the 12 s of a try at an entry."""
    scene = scene_of("held out", STILL, 4, 12.0)
    take = mixed(scene, STILL, bleed_db=0)
    delay = measured_delay(take.heard, take.track, take.rate)
    taken = np.concatenate([e.bleed for e in cleared(take.heard, take.track, take.rate, delay)])
    true = scene.bleed * (np.dot(scene.bleed, taken) / np.dot(scene.bleed, scene.bleed))
    said = heard_beside(take.heard, take.track, take.rate).remarks[0]
    told_db = int(said.split(" dB softer")[0].split()[-1])
    assert told_db <= removal_db(true, true - taken) + 2.5


def test_claps_that_went_unheard_lie_where_it_is_said() -> None:
    """A room that changes, eight times as loud as the claps: those missed are told as hidden."""
    case = CASES["room changing"]
    take = mixed(scene_of("held out", case, 7, LENGTH_S), case, bleed_db=18)
    beside = heard_beside(take.heard, take.track, take.rate)
    truth, found = np.array(take.claps_s), np.array(beside.take.times_s)
    unheard = truth[np.abs(truth[:, None] - found).min(axis=1) > 0.05]
    hidden = np.array(beside.take.hidden_s)
    assert unheard.size
    assert (np.abs(unheard[:, None] - hidden).min(axis=1) < 0.06).mean() >= 0.9
    assert (np.abs(truth[:, None] - hidden).min(axis=1) < 0.06).mean() <= 0.75
    assert "may have gone unheard" in beside.remarks[1]
    still = mixed(scene_of("held out", STILL, 3, LENGTH_S), STILL, bleed_db=0)
    assert heard_beside(still.heard, still.track, still.rate).take.hidden_s == ()


@pytest.mark.parametrize("bleed_db", [None, 0.0])
def test_who_only_talks_is_told_that_no_clap_stood_out(bleed_db: float | None) -> None:
    """With headphones and beside the loudspeaker: no words are held against the passage."""
    scene = scene_of("held out", STILL, 3, 12.0)
    sound, rate = talk_alone("held out", 1, 12.0)
    talk = np.interp(np.arange(len(scene.bleed)) / scene.rate, np.arange(len(sound)) / rate, sound)
    heard = talk + 1e-4 * scene.noise
    if bleed_db is not None:
        heard += scene.bleed * np.abs(talk).max() * 10 ** (bleed_db / 20)
    heard = (0.5 * heard / np.abs(heard).max()).astype(np.float32)
    beside = heard_beside(heard, scene.track, scene.rate)
    assert beside.take.heard == ()
    assert "stands out from the talk" in beside.unjudged


def test_an_empty_room_is_told_of_no_talk() -> None:
    """Where nothing was heard the microphone is to be looked for."""
    scene = scene_of("held out", STILL, 3, 12.0)
    noise = (1e-3 * scene.noise).astype(np.float32)
    beside = heard_beside(noise, scene.track, scene.rate)
    assert (beside.take.heard, beside.unjudged) == ((), "")


def _cut(number: int, bleed_db: float, first_s: float) -> tuple[HeardBeside, np.ndarray]:
    """Return how two seconds of a take are heard, and when claps fell in it by the recording."""
    scene = scene_of("held out", STILL, number, 16.0)
    take = mixed(scene, STILL, bleed_db=bleed_db)
    first, stop = (round(each * scene.rate) for each in (first_s, first_s + 2))
    beside = heard_beside(take.heard[first:stop], take.track[first:stop], take.rate)
    claps_s = np.array(scene.onsets_s) - first_s
    return beside, claps_s[(claps_s > 0) & (claps_s < 2)]


@pytest.mark.parametrize("number", [1, 4])
def test_two_seconds_with_headphones_are_heard(number: int) -> None:
    """Two or three claps are all there is of a short try; each is there, and no other."""
    beside, claps_s = _cut(number, -90.0, 9.0)
    assert beside.unjudged == ""
    assert not beside.delay.known
    assert claps_s.size
    assert beside.take.times_s == pytest.approx(claps_s - beside.delay.delay_s, abs=0.006)


def test_two_seconds_beside_a_loudspeaker_are_judged_by_no_click() -> None:
    """Where so little tells no sound delay, the track's own clicks are nobody's claps."""
    told = []
    for first_s in (8.0, 9.0, 10.0):
        beside, claps_s = _cut(1, 6.0, first_s)
        told.append(beside.unjudged)
        assert len(beside.take.heard) <= len(claps_s)
    assert any("too briefly" in each for each in told)


def test_two_seconds_that_the_room_explains_are_not_called_silent() -> None:
    """Five claps that went with the loudspeaker are not told as nothing played."""
    beside, claps_s = _cut(4, 6.0, 10.0)
    assert claps_s.size
    assert beside.take.heard or "too briefly" in beside.unjudged
