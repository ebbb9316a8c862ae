"""The sound delay of this machine at the page: what is kept of it for what one claps with."""

from rhythmtrain.rehearsal.desk.arriving import KEYS, MIC, MIDI, TOUCH
from rhythmtrain.rehearsal.live.sound_delay import CLAIM_ERROR_S, Delay
from rhythmtrain.rehearsal.tracks.sound import RATE
from rhythmtrain.storage.settings import DelayKey, kept_sound_delay

PAGE = "the page"
HEARD_FROM = {
    KEYS: "the keyboard",
    MIDI: "a MIDI device",
    TOUCH: "the screen",
    MIC: "the microphone",
}


def delay_of(source: str) -> Delay:
    """Return the sound delay that was kept for taps at the page, or what nobody measured."""
    kept = kept_sound_delay(delay_key(source))
    if kept is None:
        return Delay(0.0, CLAIM_ERROR_S, known=False)
    return Delay(kept.delay_s, kept.error_s, known=True)


def delay_key(source: str) -> DelayKey:
    """Return under which name a sound delay at the page is kept."""
    return DelayKey(PAGE, RATE, f"{PAGE}, {HEARD_FROM[source]}")
