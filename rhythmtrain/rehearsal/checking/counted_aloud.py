"""What a voice beside the claps did to a take, and what to do about it.

Whoever counts aloud into a phone and does not say so hands in every word as a clap, and is asked
whether it is the right passage.  So is, now and then, whoever said so but counted louder than they
clapped.  Both are told what to do.
"""

from rhythmtrain.capture.take import Take
from rhythmtrain.remedies import option
from rhythmtrain.report.take.praise import Heard

# More sounds than this share of the notes, and other things than claps were heard.
MANY = 1.3
CLAP = "clap"
SAY_SO = f"If you counted aloud while you clapped, say so: {option('aloud')}."
SOFTLY = (
    "If it is, and you counted aloud, words may have been taken for claps: count more softly than you "
    "clap, or clap nearer to the microphone."
)
NOTHING_STOOD_OUT = (
    "no clap was heard that stands out from the counting: count more softly than you clap, or clap "
    f"nearer to the microphone (if nobody counted aloud, leave out {option('aloud')})"
)


def counted(heard: Heard, take: Take, *, aloud: bool | None) -> str:
    """Return what is to be said of counting aloud, "" where it made no difference.

    ``aloud`` is whether the player counted aloud, None where nobody said.
    """
    findings = heard.findings
    another = findings.looks_like is False and findings.instead is None
    if not another or take.source != "audio" or heard.playing.noun != CLAP:
        return ""
    if aloud is not False:
        return SOFTLY
    return SAY_SO if len(take.heard) > MANY * findings.tally.expected else ""
