"""What is to be said of a recorded accompaniment that is not as good as it could be."""

from rhythmtrain.hearing.recording.faults import faults_in
from rhythmtrain.storage.recorded_sound import sound_between
from rhythmtrain.storage.recordings import Recording

CLIPPED = (
    "{name} was recorded too loud: its loudest places are cut off, which sounds harsh and blurs where "
    "a note is struck. Record it again more softly, if you can."
)
DEAD = (
    "The {side} channel of {name} is silent, so the other is heard in both ears: if that is not as it "
    "should be, look at the cable."
)


def recording_doubts(recording: Recording, first_s: float, last_s: float) -> tuple[str, ...]:
    """Return a sentence on each fault of the recording between two of its seconds.

    Raises:
        FileError: the file turns out damaged.
    """
    blocks = sound_between(recording, max(first_s, 0.0), last_s, rate=recording.rate)
    found = faults_in(blocks, recording.rate)
    said = [CLIPPED.format(name=recording.path.name)] if found.clipped else []
    if found.dead:
        said.append(DEAD.format(side=found.dead, name=recording.path.name))
    return tuple(said)
