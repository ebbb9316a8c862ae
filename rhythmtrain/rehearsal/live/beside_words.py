"""What is told of how a microphone heard a take beside the loudspeaker: whole sentences."""

from rhythmtrain.remedies import remedy

TAKEN_OUT = "The microphone heard the loudspeaker too: it was taken out, to {softer} dB softer."
POOR = (
    "The microphone heard the loudspeaker too, and it could be made only {softer} dB softer: a clap "
    "on a click may be missed, or a click be taken for one. Turn it down or use headphones."
)
HIDDEN = (
    "Where the loudspeaker was loudest a clap may have gone unheard: a note there without a clap is "
    "not checked."
)
ROUND = (
    "The track comes round too evenly to tell the sound delay from it, so where all claps lie "
    f"beside the click is not told: {remedy('measure-once')}."
)
CLICKS_ALONE = (
    "The microphone heard the loudspeaker too, and it could not be taken out: clicks alone come "
    "round too evenly. Keep the spoken count in the track, or use headphones."
)
LOUDSPEAKER_ALONE = (
    "The microphone heard the loudspeaker and nobody playing: what it heard keeps the track's times "
    "as no hand can. Clap nearer to the microphone, or use headphones."
)
LOST = (
    "Sound was lost on the way while you played: claps before and after it do not lie on one clock. "
    "Play it again."
)
MOSTLY_LOST = (
    "Sound was lost on the way in more than half of the take, so nothing can be told of it: close "
    "other programs, and play it again."
)
TALK = (
    "No clap was heard that stands out from the talk and the other sounds: clap nearer to the "
    "microphone, or count more softly."
)
BRIEFLY = (
    "The microphone heard the loudspeaker, but too briefly to tell claps from it: play for four "
    "seconds or more, or use headphones."
)
