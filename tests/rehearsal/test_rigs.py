"""What is listened to, as typed."""

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.rigs import TapsFrom, as_typed, taps_from


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("keys", TapsFrom("keys")),
        ("midi", TapsFrom("midi")),
        ("midi:Pad 3", TapsFrom("midi", "Pad 3")),
        ("midi:tcp:127.0.0.1:9000", TapsFrom("midi", "tcp:127.0.0.1:9000")),
        ("mic", TapsFrom("mic")),
        ("mic:USB: 2", TapsFrom("mic", "USB: 2")),
    ],
)
def test_a_port_or_device_may_be_named_after_a_colon(text: str, wanted: TapsFrom) -> None:
    """Names hold blanks and colons of their own."""
    assert taps_from(text) == wanted


@pytest.mark.parametrize("text", ["", "key", "keys:space", "mic: ", "MIDI"])
def test_anything_else_is_refused_with_what_is_allowed(text: str) -> None:
    """And with the command that lists the names."""
    with pytest.raises(RequestError, match="rhythmtrain devices lists the ports and devices"):
        taps_from(text)


def test_what_is_typed_next_hears_as_this_time() -> None:
    """Whoever clapped before the microphone goes on so."""
    assert as_typed("keys", "claps", None) == ""
    assert as_typed("mic:USB mic", "voice", "desk") == (
        ' --from "mic:USB mic" --as voice --loudspeaker desk'
    )
