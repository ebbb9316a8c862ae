"""A take held against its passage: from onsets on one clock to findings.

The order matters.  Double triggers go first; then the speed is found where it was not given; the
take is followed through the passage and cut into tries; entries that came at another count are
looked for *before* anything is called missed, and before the take is refused as another passage;
then notes are paired, the player's habit is taken out, and what lies beyond honest playing is
told.  A take in which much is amiss is asked whether it is the rhythm at all, or the beat clapped
in its place.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.doubles import single
from rhythmtrain.assess.figures.misread import misreadings, named_throughout
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.free.check import free_findings
from rhythmtrain.assess.instead.instead import clapped_instead
from rhythmtrain.assess.judging.judging import Manner, judged_try, plainly_played
from rhythmtrain.assess.matching.following import follow
from rhythmtrain.assess.matching.plainest import plainest, thinnest
from rhythmtrain.assess.matching.plan import Known
from rhythmtrain.assess.matching.refigured import refigured
from rhythmtrain.assess.matching.refusal import opinion
from rhythmtrain.assess.matching.rendition import rendered
from rhythmtrain.assess.matching.speed import find_speed
from rhythmtrain.assess.matching.tries import Attempt, attempts, begun_anew, end_clap, fullest
from rhythmtrain.assess.meeting.meeting import meeting_findings
from rhythmtrain.assess.outcome import Outcome, findings_of, mistakes_in
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.assess.wrong_cue import same_cues
from rhythmtrain.capture.take import Take
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.timing.timeline import Timeline

__all__ = ["Settings", "check_take"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SHUFFLE_SEED = 20
ROUND_SHARE, NEAR_SHARE = 0.05, 0.02
MOSTLY = 0.85


@dataclass(frozen=True, slots=True)
class _Asked:
    """A take and what it is held against.

    ``uncertainty_s`` is the standard error of an onset; ``clicked`` says that something kept time,
    at a speed that is known; ``hidden_s`` when an onset may have gone unheard.
    """

    timeline: Timeline
    played_s: Floats
    settings: Settings
    uncertainty_s: float
    clicked: bool
    hidden_s: tuple[float, ...] = ()


def check_take(timeline: Timeline, take: Take, settings: Settings) -> Findings:
    """Return what was heard of ``take``, held against ``timeline``.

    With ``settings.speed`` the timeline is already laid out at that speed; without it the
    timeline is at the written tempo and the speed is found.

    Raises:
        TakeError: nothing was heard.
        RequestError: the passage gives the player no notes.
    """
    findings = _held_against(timeline, take, settings)
    if settings.one_go or _mostly_right(findings):
        return findings
    instead = clapped_instead(
        timeline,
        _played(take, written_of(timeline)),
        speed_known=settings.speed is not None and settings.timing != "free",
        start_s=settings.start_s,
        misread=findings.looks_like is not False and named_throughout(findings.mistakes),
    )
    if instead is None or not (instead.sure or findings.looks_like is False):
        return findings
    found = timeline.practice.speed * instead.speed if findings.tempo_found else findings.speed
    return replace(findings, looks_like=False, instead=instead, speed=found)


def _held_against(timeline: Timeline, take: Take, settings: Settings) -> Findings:
    if settings.timing == "free":
        return free_findings(timeline, take, start_s=settings.start_s)
    if settings.meet is not None:
        return meeting_findings(timeline, take, settings)
    written = written_of(timeline)
    played = _played(take, written)
    uncertainty = _uncertainty_s(take, settings)
    speed, clicked = _speed(settings, played, written)
    asked = _Asked(timeline, played, settings, uncertainty, clicked, take.hidden_s)
    heard = _hear(asked, written.faster(speed), written.faster(speed))
    if heard.looks_like is False:
        heard = _misread(asked, written) or heard
    unsure = float(np.hypot(uncertainty, np.median(written.unsure_s)))
    return findings_of(heard, settings=settings, uncertainty_s=unsure)


def _mostly_right(findings: Findings) -> bool:
    """Return whether so many notes were in time that nothing else can have been meant."""
    right = sum(note.verdict is Verdict.IN_TIME for note in findings.notes)
    return right >= MOSTLY * (findings.tally.expected + findings.tally.extra)


def _hear(asked: _Asked, written: Written, sounds: Written) -> Outcome:
    """Return the take held against ``written``; it is recognised by how that ``sounds``."""
    settings, played = asked.settings, asked.played_s
    known = _known(asked, written)
    tries = _tries(played, written, known)
    shown = fullest(tries)
    if begun_anew(tries, shown, written, known.start_s):
        known = replace(known, start_s=None)
    rendition = rendered(
        tries[shown],
        played,
        written,
        known=known,
        end_clap=end_clap(tries, shown, len(played)),
    )
    rendition = refigured(rendition, asked.timeline, written, played)
    recorded = settings.timing == "recording"
    manner = Manner(asked.clicked, recorded, asked.uncertainty_s, asked.hidden_s)
    judging = judged_try(asked.timeline, written, played, rendition, manner)
    rng = np.random.default_rng(SHUFFLE_SEED)
    looks_like = opinion(rendition, tries, shown, played, sounds, rng)
    if looks_like is False and plainly_played(judging):
        looks_like = True
    return Outcome(judging, tries, shown, looks_like)


def _speed(settings: Settings, played_s: Floats, written: Written) -> tuple[float, bool]:
    """Return how much faster than ``written`` it was played, and whether something kept time there.

    A recording is slowed to a round share of its speed: what was found near one is that.
    """
    if settings.speed is not None:
        return 1.0, True
    found = find_speed(played_s, written)
    share = round(found / ROUND_SHARE) * ROUND_SHARE
    if settings.timing == "recording" and share and abs(found / share - 1) < NEAR_SHARE:
        return share, True
    return found, False


def _known(asked: _Asked, written: Written) -> Known:
    """Return what is known beforehand; other places after an entry's cue are in beats from it."""
    rank = {int(index): number for number, index in enumerate(written.index)}
    entries = tuple(rank[entry.note] for entry in asked.timeline.entries)
    cues = same_cues(asked.timeline)
    elsewhere = {rank[note]: tuple(cue.beats for cue in each) for note, each in cues.items()}
    settings = asked.settings
    return Known(entries, settings.start_s, asked.clicked, elsewhere, settings.one_go)


def _misread(asked: _Asked, written: Written) -> Outcome | None:
    """Return the take as the passage with one figure misread throughout, or None if it is not."""
    for reading in misreadings(asked.timeline, written):
        speed, _ = _speed(asked.settings, asked.played_s, reading)
        heard = _hear(asked, written.faster(speed), reading.faster(speed))
        if heard.looks_like and named_throughout(mistakes_in(heard.judging)):
            return heard
    return None


def _tries(played_s: Floats, written: Written, known: Known) -> tuple[Attempt, ...]:
    """Return the tries in the take; a take too thin to be followed is one try all the same."""
    stretches, _ = follow(played_s, written, start_s=known.start_s, one_go=known.one_go)
    given = known.start_s is not None
    plain = plainest(stretches, played_s, written, entries=known.entries, given=given)
    found = attempts(plain, played_s, written)
    return found or attempts((thinnest(played_s, written),), played_s, written)


def _played(take: Take, written: Written) -> Floats:
    """Return the times of the claps, each heard once."""
    if not take.heard:
        raise TakeError(
            f"nothing was heard in {take.name}: check that the recording is not silent and that "
            "the microphone was near"
        )
    if not len(written.times_s):
        raise RequestError("the passage has no notes to play, so there is nothing to check")
    times = np.array(take.times_s, dtype=np.float64)
    gaps = np.diff(written.times_s)
    return times[single(times, float(np.min(gaps)) if len(gaps) else np.inf)]


def _uncertainty_s(take: Take, settings: Settings) -> float:
    """Return the standard error of one onset, in seconds."""
    heard = float(np.median([each.uncertainty_s for each in take.heard]))
    return max(heard, settings.detector_uncertainty_s)
