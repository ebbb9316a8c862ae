"""A take at the page, from what came of it to when what was played: in seconds of its track.

The page told what happened and when by its own clocks; taps are placed by them, and what a microphone
heard by the track itself, as the page played it.
"""

from typing import Any

import numpy as np

from rhythmtrain.capture.browser_clock import browser_clock
from rhythmtrain.capture.take import Take
from rhythmtrain.capture.taps import TapPath, take_of_taps
from rhythmtrain.devices.ports import Block, Tap
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.desk.arriving import KEYS, MIC, MIDI, TOUCH
from rhythmtrain.rehearsal.desk.journal import Journal
from rhythmtrain.rehearsal.desk.levels import as_heard
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.desk.page_delay import HEARD_FROM, delay_of
from rhythmtrain.rehearsal.live.beside import Ear, HeardBeside, heard_beside
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.lost_sound import lost_in_words
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.sound_delay import Delay
from rhythmtrain.rehearsal.tracks.sound import RATE

SOURCES = {KEYS: "keys", MIDI: "midi", TOUCH: "keys", MIC: "audio"}
# A tap's own stamp: keyboards are asked every few milliseconds.
STAMP_ERROR_S = {KEYS: 0.004, TOUCH: 0.008, MIDI: 0.001}
Lines = list[dict[str, Any]]


def performed(journal: Journal, lines: Lines, made: Made, gathered: Gathered) -> Performance:
    """Return what was played to the track ``made``, as ``lines`` of the journal tell.

    Raises:
        TakeError: nothing came from the microphone, or the browser did not tell when its sound was
            heard.
    """
    begun, *later = lines
    endless = made.loop is not None
    if begun["source"] != MIC:
        delay = delay_of(begun["source"])
        return Performance(gathered, taps_of(begun, later, made, delay), delay, endless=endless)
    recorded = recorded_of(journal, begun)
    if not len(recorded):
        raise TakeError("nothing came from the microphone: is it allowed for this page, and on?")
    gathered.blocks = [recorded]
    heard = heard_of(recorded, begun, later, made)
    remarks = (*lost_in_words(heard.lost, made.timeline), *heard.remarks)
    return Performance(
        gathered, heard.take, heard.delay, remarks, unjudged=heard.unjudged, endless=endless
    )


def taps_of(begun: dict[str, Any], later: Lines, made: Made, delay: Delay) -> Take:
    """Return the taps of a take in track time, less ``delay``."""
    source = begun["source"]
    if source not in STAMP_ERROR_S:
        raise RequestError("a sound delay is tapped on keys, the screen or MIDI")
    readings = [(context, page) for line in later for context, page in line.get("clock", [])]
    model = browser_clock(readings, start_s=begun["start_s"], rate=RATE)
    taps = [
        Tap(at, what, hard, up) for line in later for at, what, up, hard in line.get("taps", [])
    ]
    unsure_s = delay.error_s if delay.known else 0.0
    path = TapPath(
        SOURCES[source], HEARD_FROM[source], STAMP_ERROR_S[source], delay.delay_s, unsure_s
    )
    return take_of_taps(taps, model, path, duration_s=float(made.plan.duration_s))


def recorded_of(journal: Journal, begun: dict[str, Any]) -> Block:
    """Return what the microphone has heard so far, from the first sample of the track on."""
    return journal.sound(round(begun["start_s"] * RATE), RATE)


def heard_of(
    recorded: Block, begun: dict[str, Any], later: Lines, made: Made, *, first: int = 0
) -> HeardBeside:
    """Return what was played in ``recorded``, which begins at frame ``first`` of the track."""
    levels = [tuple(row) for row in begun["levels"]]
    levels += [tuple(row) for line in later for row in line.get("levels", [])]
    track = as_heard(made, levels, begun["start_s"], frames=first + len(recorded))[first:]
    ear = Ear(begun["kind"], aloud=begun["aloud"])
    return heard_beside(np.ascontiguousarray(recorded), track, RATE, ear=ear, kept=None)
