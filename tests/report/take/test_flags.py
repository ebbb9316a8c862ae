"""Which notes deserve a word: few, and never an honest player's."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.assess.findings import Extra, Findings, Mistake, Verdict
from rhythmtrain.report.take.flags import away_s, clean_bars, entries_amiss, flags, pooled
from tests.simulate.heard import Amiss, Spot, findings_of, heard_of, passage_of

RAG = passage_of("1 e [&] a 2 & | (1) & a 2 | 1 & [2] & | 1 (2)")
ENTRY = passage_of("1 & 2 | rest 4 | (1) & 2 & | 1 2")
SPOTS = [(1, "1", r) for r in (1, 2, 3)] + [(2, "1&", r) for r in (1, 2, 3)]


def _found(amiss: Amiss, repeats: int = 1) -> Findings:
    return heard_of(RAG, amiss, repeats=repeats)[0].findings


def test_a_note_a_little_late_once_is_no_word() -> None:
    """A false late is the worst fault: one note in twenty lies out here for everyone."""
    assert flags(_found(Amiss({(1, "2", 1): 0.06}))) == ()


def test_a_note_a_little_late_in_two_of_three_is_one_word() -> None:
    """What comes back is not chance."""
    late = {(1, "2", 1): 0.06, (1, "2", 3): 0.064}
    (flag,) = flags(_found(Amiss(late), repeats=3))
    assert (flag.bar, flag.count, flag.verdict) == (1, "2", Verdict.LATE)
    assert (flag.which, flag.of) == ((1, 3), 3)
    assert flag.away_s == 0.062
    assert flags(_found(Amiss({(1, "2", 1): 0.06, (1, "2", 2): 0.06}), repeats=2)) == ()


def test_a_note_plainly_early_or_missing_is_a_word_at_once() -> None:
    """Once is enough where nobody honest would be."""
    amiss = Amiss({(3, "1&", 1): -0.2}, missed=frozenset({(2, "1a", 1)}))
    missing, early = flags(_found(amiss))
    assert (missing.verdict, missing.away_s) == (Verdict.MISSED, None)
    assert (early.verdict, early.away_s) == (Verdict.EARLY, -0.2)


def test_the_same_place_may_be_missing_once_and_late_once() -> None:
    """Each is told with the time it was."""
    amiss = Amiss({(1, "2", 2): 0.2}, missed=frozenset({(1, "2", 1)}))
    found = {flag.verdict: flag.which for flag in flags(_found(amiss, repeats=2))}
    assert found == {Verdict.LATE: (2,), Verdict.MISSED: (1,)}


def test_what_is_a_wrong_figure_is_not_told_again_note_by_note() -> None:
    """One mistake, one sentence; but a note that was missing another time is still missing."""
    figure = Mistake(1, "1e", "dotted played even", (1,), 1, 2)
    late = {(1, "1e", 1): 0.2}
    assert flags(_found(Amiss(late, mistakes=(figure,)), repeats=2)) == ()
    amiss = Amiss(late, missed=frozenset({(1, "1e", 2)}), mistakes=(figure,))
    (flag,) = flags(_found(amiss, repeats=2))
    assert (flag.verdict, flag.which) == (Verdict.MISSED, (2,))


def test_an_entry_is_told_as_an_entry_only() -> None:
    """It has its own line."""
    heard, _ = heard_of(ENTRY, Amiss({(6, "1&", 1): 0.3}))
    assert heard.flags == ()
    (entry,) = entries_amiss(heard.findings)
    assert (entry.bar, entry.verdict) == (6, "late")


def test_an_entry_a_little_late_once_or_not_checked_is_no_trouble() -> None:
    """As little a fault as any other note."""
    little = heard_of(ENTRY, Amiss({(6, "1&", 1): 0.06}))[0].findings
    assert little.entries[0].verdict == "late"
    assert entries_amiss(little) == ()
    unchecked = heard_of(ENTRY, Amiss(unchecked=frozenset({(6, "1&", 1)})))[0].findings
    assert unchecked.entries[0].verdict == "not checked"
    assert entries_amiss(unchecked) == ()
    missing = heard_of(ENTRY, Amiss(missed=frozenset({(6, "1&", 1)})))[0].findings
    assert len(entries_amiss(missing)) == 1


def test_an_entry_a_little_late_that_was_not_noted_is_no_trouble() -> None:
    """Where no note stands behind it nothing is claimed."""
    findings = heard_of(ENTRY, Amiss({(6, "1&", 1): 0.3}))[0].findings
    other = tuple(replace(entry, count="2") for entry in findings.entries)
    assert entries_amiss(replace(findings, entries=other)) == ()


def test_distance_falls_back_on_the_habit_and_on_the_beat_when_free() -> None:
    """A steady earliness beside a click is nobody's fault; freely there is no click to be beside."""
    findings = _found(Amiss({(1, "2", 1): 0.1}))
    assert findings.spread is not None
    habit = replace(findings, spread=replace(findings.spread, median_s=-0.03))
    note = replace(next(n for n in findings.notes if n.offset_s == 0.1), away_s=None)
    assert away_s(habit, note) == 0.13
    assert away_s(replace(habit, spread=None), note) == 0.1
    assert away_s(replace(habit, timing="free"), note) == 0.1
    assert away_s(habit, replace(note, offset_s=None)) is None


def test_bars_with_anything_amiss_are_not_clean() -> None:
    """Praise must be true."""
    assert clean_bars(_found(Amiss())) == (1, 2, 3, 4)
    assert clean_bars(_found(Amiss({(1, "2", 1): 0.06}))) == (2, 3, 4)
    assert clean_bars(_found(Amiss(extras=(Extra(3.0, 2, "1"),)))) == (1, 3, 4)
    assert clean_bars(_found(Amiss(missed=frozenset({(3, "1", 1)})))) == (1, 2, 4)
    unheard = frozenset({(4, "1", 1)})
    assert clean_bars(_found(Amiss(unchecked=unheard))) == (1, 2, 3)
    assert clean_bars(_found(Amiss(unchecked=unheard), repeats=2)) == (1, 2, 3, 4)
    figure = Mistake(2, "1&", "even played dotted", (5,), 1, 1)
    assert clean_bars(_found(Amiss(mistakes=(figure,)))) == (1, 3, 4)


def test_a_bar_whose_entry_was_a_beat_out_is_not_clean() -> None:
    """Its notes may sit well together, and still all be a beat early."""
    heard, _ = heard_of(ENTRY, Amiss(came={(6, "1&", 1): "one beat early"}))
    assert clean_bars(heard.findings) == (1, 7)


def test_a_habit_found_all_over_leaves_no_bar_to_praise() -> None:
    """Its other places are not named one by one."""
    figure = Mistake(1, "1e", "dotted played even", (1,), 5, 6)
    findings = _found(Amiss(mistakes=(figure,)))
    assert pooled(findings, figure)
    assert clean_bars(findings) == ()
    assert not pooled(findings, replace(figure, notes=()))


@given(
    st.dictionaries(st.sampled_from(SPOTS), st.floats(-0.3, 0.3), max_size=6),
    st.frozensets(st.sampled_from(SPOTS), max_size=3),
)
def test_no_bar_is_both_clean_and_flagged(
    late_s: dict[Spot, float], missed: frozenset[Spot]
) -> None:
    """Whatever was played."""
    heard, timeline = heard_of(RAG, Amiss(late_s, missed=missed), repeats=3)
    assert not set(heard.clean) & {flag.bar for flag in heard.flags}
    assert findings_of(timeline, Amiss(late_s, missed=missed)) == heard.findings
