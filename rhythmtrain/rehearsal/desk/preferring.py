"""What a person sets once at the page: the language of the count, note names, the sound delay."""

from datetime import UTC, datetime
from threading import Lock
from typing import Any

from rhythmtrain.capture.tapped_delay import tapped_delay
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.desk.arriving import MIC
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_track import Made, PageWish
from rhythmtrain.rehearsal.desk.page_delay import HEARD_FROM, delay_key, delay_of
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.desk.sounding import stems_written
from rhythmtrain.rehearsal.desk.taking import taps_alone
from rhythmtrain.rehearsal.desk.track_told import track_document
from rhythmtrain.rehearsal.live.latency import TAPPED, tapping_track
from rhythmtrain.report.latency_text import Measured, latency_text
from rhythmtrain.storage.settings import (
    KeptDelay,
    Preferences,
    keep_preferences,
    keep_sound_delay,
    preferences,
)
from rhythmtrain.storage.sounds import languages

Document = dict[str, Any]
# Two pages set different things at once: what one reads before it writes, the other has written.
_KEEPING = Lock()


def settings_told() -> Document:
    """Return what is set, what can be, and the sound delays that were measured at the page."""
    set_now = preferences()
    return {
        "language": set_now.language,
        "languages": list(languages()),
        "british": set_now.british,
        "own_voice": set_now.own_voice,
        "delays": [_delay(source) for source in HEARD_FROM if source != MIC],
    }


def settings_kept(asked: Asked) -> Document:
    """Set "language", "british" note names and "own_voice", and return everything that is set.

    Raises:
        RequestError: a language there are no words for.
    """
    with _KEEPING:
        before = preferences()
        language = asked.text("language", before.language)
        if language not in languages():
            raise RequestError(
                f"there is no count in {language[:20]!r}: choose {', '.join(languages())}"
            )
        british = asked.truth("british", usual=before.british)
        own_voice = asked.truth("own_voice", usual=before.own_voice)
        keep_preferences(Preferences(language, british, own_voice), before=before)
    return settings_told()


def tapping_made(sitting: Sitting, tracks: Lately[Made]) -> Document:
    """Make the row of clicks to which one taps, so that the sound delay can be told."""
    timeline, plan = tapping_track()
    stems, _ = stems_written(sitting, plan, (), language="en")
    made = Made(PageWish(timeline.passage.title), {}, timeline, plan, stems)
    return track_document(made) | {"track": tracks.keep(made)}


def tapping_ended(sitting: Sitting, tracks: Lately[Made], asked: Asked) -> Document:
    """Return the sound delay that the take "take" tells, and keep it for what it was tapped on.

    Raises:
        TakeError: too few taps, or too uneven ones.
    """
    source, take, plan = taps_alone(sitting, tracks, asked)
    clicks = [each.time_s for each in plan.prompts if each.layer is Layer.CLICK]
    found = tapped_delay(clicks, take.times_s)
    now = datetime.now(UTC).astimezone().isoformat(timespec="seconds")
    kept = KeptDelay(found.delay_s, found.error_s, TAPPED, now)
    with _KEEPING:
        keep_sound_delay(delay_key(source), kept)
    measured = Measured(found.delay_s, found.error_s, tapped=True, taps=found.taps)
    return {
        "text": latency_text(measured, HEARD_FROM[source], kept=True),
        "delay_ms": found.delay_s * 1000,
        "error_ms": found.error_s * 1000,
    }


def _delay(source: str) -> Document:
    delay = delay_of(source)
    known = {"delay_ms": delay.delay_s * 1000, "error_ms": delay.error_s * 1000}
    return {"source": source, "words": HEARD_FROM[source], "known": delay.known, **known}
