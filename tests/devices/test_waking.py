"""Threads that go first, where the system allows it."""

import gc
import os
import sys
import threading

import pytest

from rhythmtrain.devices.waking import NICE, TURN_S, go_first, go_sooner, going_first, quick_turns


def _in_a_thread(asked: "list[bool]", policies: "list[int]") -> None:
    asked.append(go_first())
    policies.append(os.sched_getscheduler(0))


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux lets a single thread go first")
def test_a_thread_goes_first_or_nothing_changes() -> None:
    """Without the right everything works as before, and no thread but the one that asked changes."""
    before = os.sched_getscheduler(0)
    asked: list[bool] = []
    policies: list[int] = []
    for _ in range(2):
        thread = threading.Thread(target=_in_a_thread, args=(asked, policies))
        thread.start()
        thread.join()
    expected = os.SCHED_RR if asked[0] and before == os.SCHED_OTHER else before
    assert policies == [expected] * 2
    assert os.sched_getscheduler(0) == before


def test_where_the_system_refuses_notes_come_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """An ordinary account on an ordinary Linux."""

    def refuse(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "sched_setscheduler", refuse, raising=False)
    monkeypatch.setattr(os, "sched_getscheduler", lambda _: os.SCHED_OTHER, raising=False)
    assert not go_first()
    heard: list[str] = []
    call = going_first(heard.append)
    call("first")
    call("second")
    assert heard == ["first", "second"]


def test_other_systems_are_left_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows and macOS wake such threads soon enough by themselves."""
    monkeypatch.setattr(sys, "platform", "darwin")
    assert not go_first()


def test_threads_give_way_sooner_while_sound_is_played_and_then_as_before() -> None:
    """The rest of the program is left as it was."""
    before_s = sys.getswitchinterval()
    with quick_turns():
        assert sys.getswitchinterval() == pytest.approx(TURN_S)
        with quick_turns():
            pass
        assert sys.getswitchinterval() == pytest.approx(TURN_S)
    assert sys.getswitchinterval() == before_s


@pytest.mark.skipif(sys.version_info >= (3, 14), reason="there all garbage is collected in steps")
def test_while_sound_is_played_python_never_looks_through_all_its_objects() -> None:
    """That holds everything up for longer than a turn of the sound card, and a click is lost."""
    seen: list[int] = []

    def count(phase: str, about: "dict[str, int]") -> None:
        seen.extend([about["generation"]] if phase == "start" else [])

    before = gc.get_threshold()
    gc.callbacks.append(count)
    try:
        with quick_turns():
            kept = [[number] for number in range(400_000)]
    finally:
        gc.callbacks.remove(count)
    assert len(kept) == 400_000
    assert seen
    assert max(seen) < 2
    assert gc.get_threshold() == before


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells threads apart in this")
def test_a_thread_that_computes_for_the_sound_goes_sooner_and_then_as_before(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With the right, no matter how often; without, nothing changes."""
    before = os.getpriority(os.PRIO_PROCESS, 0)
    undo = go_sooner()
    with quick_turns():
        assert os.getpriority(os.PRIO_PROCESS, 0) in {before, min(NICE, before)}
    undo()
    assert os.getpriority(os.PRIO_PROCESS, 0) == before

    def refuse(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "setpriority", refuse)
    go_sooner()()
    monkeypatch.setattr(sys, "platform", "darwin")
    go_sooner()()
