"""Whether a recording is the one that its beat map was made of, as far as its length tells.

Silence cut from the beginning of a recording, or put there, moves every beat of its map, and a player
who is with the pianist would be called late.  So a map keeps how long its recording lasted:

    # kept: lasts 105.01

A codec makes a recording longer by less than a tenth of a second.  Maps from elsewhere say nothing,
and are believed.
"""

from pathlib import Path

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.storage.beat_maps import read_map_text
from rhythmtrain.storage.recordings import Recording

LASTS = "kept: lasts "
SAME_S = 0.5


def length_line(recording: Recording) -> str:
    """Return the line, for the head of a beat map, that keeps how long ``recording`` lasts."""
    return "" if recording.duration_s is None else f"{LASTS}{recording.duration_s:.2f}"


def check_length_kept(recording: Recording, beats: Path) -> None:
    """Refuse to use a beat map, the file ``beats``, with a recording that has another length by now.

    Raises:
        TakeError: the map was made of a shorter or longer recording.
    """
    if other := _other_length(recording, beats):
        raise TakeError(f"{other}: is it another one, or was it cut since? Map it again")


def check_map_anew(recording: Recording, beats: Path) -> None:
    """Refuse to write the map of another recording over the file ``beats``, unless that is asked for.

    Raises:
        RequestError: the map was made of a shorter or longer recording.
    """
    if other := _other_length(recording, beats):
        raise RequestError(
            f"{other}: say with -o where the new map goes, and leave {beats.name} as it is; where its "
            "beginning was cut, taps and marks have to be made anew"
        )


def _other_length(recording: Recording, beats: Path) -> str:
    """Return that the map keeps another length than that of ``recording``, "" where it does not."""
    now = recording.duration_s
    sign = f"# {LASTS}"
    lines = (line for line in read_map_text(beats).splitlines() if line.startswith(sign))
    for line in lines:
        try:
            was = float(line.removeprefix(sign))
        except ValueError:
            continue
        if now is not None and abs(was - now) > SAME_S:
            return (
                f"{beats.name} was made of a recording of {was:.1f} s, but {recording.path.name} "
                f"lasts {now:.1f} s"
            )
    return ""
