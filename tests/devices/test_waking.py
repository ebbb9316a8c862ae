"""Threads that go first, where the system allows it."""

import gc
import os
import sys
import threading

import pytest

from rhythmtrain.devices.waking import (
    MAKING,
    NICE,
    STAMPING,
    TURN_S,
    go_first,
    go_sooner,
    going_first,
    let_go_first,
    quick_turns,
    threads,
)


def _policy() -> int:
    """Return how the calling thread gets its turns."""
    return os.sched_getscheduler(0) & ~os.SCHED_RESET_ON_FORK


def _in_a_thread(asked: "list[bool]", policies: "list[int]") -> None:
    asked.append(go_first())
    policies.append(_policy())


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux lets a single thread go first")
def test_a_thread_goes_first_or_nothing_changes() -> None:
    """Without the right everything works as before, and no thread but the one that asked changes."""
    before = _policy()
    asked: list[bool] = []
    policies: list[int] = []
    for _ in range(2):
        thread = threading.Thread(target=_in_a_thread, args=(asked, policies))
        thread.start()
        thread.join()
    expected = os.SCHED_RR if asked[0] and before == os.SCHED_OTHER else before
    assert policies == [expected] * 2
    assert _policy() == before


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux lets a single thread go first")
def test_threads_of_a_sound_system_go_first_too() -> None:
    """They hand on every block; those that were there before are left as they are."""
    before, own = threads(), _policy()
    over = threading.Event()
    thread = threading.Thread(target=over.wait)
    thread.start()
    new = threads() - before
    assert thread.native_id in new
    let_go_first(new)
    assert thread.native_id is not None
    policy = os.sched_getscheduler(thread.native_id) & ~os.SCHED_RESET_ON_FORK
    over.set()
    thread.join()
    asked: list[bool] = []
    policies: list[int] = []
    other = threading.Thread(target=_in_a_thread, args=(asked, policies))
    other.start()
    other.join()
    assert policy == policies[0]
    assert _policy() == own
    let_go_first(new)  # over by now: nothing to do


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
def test_a_thread_that_makes_sound_goes_sooner_and_then_as_before() -> None:
    """With the right, no matter how often; what it starts meanwhile is as usual."""
    before = _policy(), os.getpriority(os.PRIO_PROCESS, 0)
    allowed: list[bool] = []
    started: list[int] = []
    for job in (lambda: allowed.append(go_first()), lambda: started.append(_policy())):
        undo = go_sooner() if allowed else None
        with quick_turns():
            assert not allowed or (_policy() == os.SCHED_RR) == allowed[0]
            thread = threading.Thread(target=job)
            thread.start()
            thread.join()
        if undo is not None:
            undo()
        assert (_policy(), os.getpriority(os.PRIO_PROCESS, 0)) == before
    assert started == [before[0]]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells threads apart in this")
def test_a_thread_that_stamps_goes_before_those_that_make_sound() -> None:
    """One key is stamped while a page of the track is made."""
    assert 0 < MAKING < STAMPING < 5, "a JACK server's own clients come in at 5"


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells threads apart in this")
def test_without_the_right_a_thread_is_nicer_to_itself_or_nothing_changes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """An ordinary account on an ordinary Linux, and other systems."""
    nice = [0]

    def refuse(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "sched_setscheduler", refuse)
    monkeypatch.setattr(os, "sched_getscheduler", lambda _: os.SCHED_OTHER)
    monkeypatch.setattr(os, "getpriority", lambda *_: nice[-1])
    monkeypatch.setattr(os, "setpriority", lambda _which, _who, to: nice.append(to))
    undo = go_sooner()
    assert nice == [0, NICE]
    undo()
    assert nice == [0, NICE, 0]
    monkeypatch.setattr(os, "setpriority", refuse)
    go_sooner()()
    assert nice == [0, NICE, 0]
    monkeypatch.setattr(sys, "platform", "darwin")
    go_sooner()()
