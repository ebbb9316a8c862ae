"""A device goes away: what a player reads, early, in the middle and between two tries."""

from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_room import Room
from rhythmtrain.devices.fake_sound import FakeDuplex, FakeOutput, FakeSound
from rhythmtrain.devices.ports import STOP_KEY, Block, Output, Tap
from rhythmtrain.errors import DeviceError, TakeError
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.entering.enter import practise_entry
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.latency import LatencyWish, measure_latency
from rhythmtrain.rehearsal.live.live import Rig
from rhythmtrain.rehearsal.live.rigs import MIC, SOURCES, TapsFrom
from rhythmtrain.rehearsal.typed_words import as_typed

RATE = 48_000
ENTRY = "towpath-entry"
Rigged = Callable[[TapsFrom, str | None], Rig]


def rigged(taps_s: Iterable[float], *, away_s: float | None, stop_s: float | None = None) -> Rigged:
    """Return what gives fakes on which one claps at ``taps_s``, until the card goes."""
    claps = tuple(taps_s)
    keys = [Tap(time_s, "space") for time_s in claps]
    keys += [] if stop_s is None else [Tap(stop_s, STOP_KEY)]

    def real_rig(wanted: TapsFrom, _loudspeaker: str | None = None) -> Rig:
        clock = FakeClock()
        heard = wanted.kind == MIC
        room = Room(900, gain=0.25, noise=1e-4, claps_s=claps if heard else ())
        card = FakeSound(RATE, 960, away_at_s=away_s, room=room)

        def sound(blocks: Iterable[Block]) -> Output:
            return (FakeDuplex if heard else FakeOutput)(blocks, clock, card)

        taps = None if heard else lambda: FakeTaps(keys, clock, stamp_error_s=0.001)
        return Rig(clock, sound, taps, None, SOURCES[wanted.kind], RATE)

    return real_rig


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let takes be kept in a folder of the test's own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    return tmp_path


@pytest.mark.parametrize("source", ["keys", "mic"])
@pytest.mark.parametrize("away_s", [0.0, 0.3, 2.0])
def test_before_the_passage_began_nothing_is_judged_or_kept(
    kept: Path, rag: Path, monkeypatch: pytest.MonkeyPatch, source: str, away_s: float
) -> None:
    """What the microphone heard of the count-in is nobody's playing: it is not called early."""
    monkeypatch.setattr(
        "rhythmtrain.rehearsal.clapping.clap.real_rig", rigged([0.2], away_s=away_s)
    )
    words = r"the fake sound card went away before .*: connect or start it again"
    with pytest.raises(TakeError, match=words):
        clap_along(ClapWish(str(rag), source=source, count_in=2))
    assert not list(kept.glob("*.db"))


def test_whoever_stops_while_it_is_counted_in_is_told_just_that(
    kept: Path, rag: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A finger that touched a key before is no take."""
    monkeypatch.setattr(
        "rhythmtrain.rehearsal.clapping.clap.real_rig", rigged([0.5], away_s=None, stop_s=1)
    )
    with pytest.raises(TakeError, match="you stopped before the passage began: nothing was"):
        clap_along(ClapWish(str(rag), count_in=2))
    assert not list(kept.glob("*.db"))


def test_where_nobody_played_the_device_is_named_and_not_the_space_bar(
    kept: Path, rag: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The player was perhaps about to begin."""
    assert kept.is_dir()
    monkeypatch.setattr("rhythmtrain.rehearsal.clapping.clap.real_rig", rigged([], away_s=6.0))
    with pytest.raises(TakeError, match="card went away before anything was played"):
        clap_along(ClapWish(str(rag)))


def test_a_card_that_goes_before_the_entry_ends_the_practice_and_is_named(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line; nothing was missed."""
    assert kept.is_dir()
    monkeypatch.setattr("rhythmtrain.rehearsal.entering.enter.real_rig", rigged([], away_s=3.0))
    told = practise_entry(EnterWish(ENTRY))
    assert told.text.startswith("The fake sound card went away before the entry: connect or")
    assert told.document["tries"] == []


def test_a_device_that_is_gone_at_the_next_try_leaves_those_before(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They are told, and what to type next; the reason stands between."""
    assert kept.is_dir()
    good = rigged([], away_s=None)
    times = 0

    def unplugged(wanted: TapsFrom, loudspeaker: str | None = None) -> Rig:
        nonlocal times
        times += 1
        if times > 1:
            raise DeviceError("no loudspeaker is there: plug one in")
        return good(wanted, loudspeaker)

    monkeypatch.setattr("rhythmtrain.rehearsal.entering.enter.real_rig", unplugged)
    told = practise_entry(EnterWish(ENTRY, seed=1)).worded(as_typed)
    assert len(told.document["tries"]) == 1
    assert "No loudspeaker is there: plug one in." in told.text
    assert told.text.index("No loudspeaker") < told.text.index("To type next")
    times = 1
    with pytest.raises(DeviceError, match="no loudspeaker"):
        practise_entry(EnterWish(ENTRY, seed=1))


@pytest.mark.parametrize("source", ["keys", "mic"])
def test_a_delay_of_a_device_that_went_is_not_kept(
    kept: Path, monkeypatch: pytest.MonkeyPatch, source: str
) -> None:
    """And the player's taps are not called uneven."""
    monkeypatch.setattr(
        "rhythmtrain.rehearsal.live.latency.real_rig", rigged([3.0, 3.4, 4.6], away_s=6.0)
    )
    with pytest.raises(TakeError, match="went away before the sound delay was measured"):
        measure_latency(LatencyWish(source))
    assert not (kept / "settings.json").exists()
