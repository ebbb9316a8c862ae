"""What is listened for: one row of settings for every kind of sound a player makes.

``claps`` is for hands: claps, knuckles, soft hands on thigh or drum.  ``voice`` is for syllables
and singing, ``wind`` and ``brass`` for tongued notes, ``strings`` for bowed and ``plucked`` for
plucked notes.  Rows were chosen on the sets of tests/simulate/scenes.py, without its held-out
ones, and the row for notes on tests/simulate/note_lines.py (see ``note``);
tests/hearing/onsets/test_onsets.py and test_note.py state what they reach.
"""

from dataclasses import dataclass

from rhythmtrain.errors import RequestError


@dataclass(frozen=True, slots=True)
class Kind:
    """How one kind of sound is found.

    Attributes:
        window_s: Length of the Hann window of a frame.
        bands_per_octave: Fineness of the bands; fine ones follow a legato change of pitch.
        lowest_hz: Lower edge of the lowest band.
        lag: Frames between the two spectra that are compared.
        spread: Bands either side over which the earlier spectrum takes its maximum.
        least_flux_db: Mean rise of the bands that an onset must show.
        share: Part of the highest flux of the neighbourhood that an onset must show.
        mads: Deviations above the median flux of the neighbourhood that an onset must show.
        sharp: Whether the wave itself is searched for the moment of the attack.
        evidence: Log likelihood ratio from which that moment is believed.
        least_evidence: Log likelihood ratio that an onset must show,
        least_sum: and the same plus 40 for every dB of flux over the usual.
        least_strength_db: Rise over the sound just before that an onset must show.
        fullness_frames: Frames after an onset in which its loudness is looked for.
        softest_db: How far below the loud sounds of the neighbourhood an onset may lie.
        merge_s: Closer onsets than this are one, the earlier of the two,
        heavier: unless the later one is stronger by this many dB, or likelier a held note by this logit.
        model_s: Standard error of the attack's time that the likelihood does not know of.
        early_s: What is taken from a flux time to reach the 5 % point.
        uncertainty_s: Standard error of a flux time.
        least_tone: How much of a sound must repeat itself soon after an onset (see ``tone``): a breath,
            a key or a bow being placed is no note.  0 where strokes are listened for.
        held: Whether notes are held and run into each other, so that what sounds before and after an
            onset says whether it is one (see ``note``).
    """

    window_s: float
    bands_per_octave: float
    lowest_hz: float
    lag: int
    spread: int
    least_flux_db: float
    share: float
    mads: float
    sharp: bool
    evidence: float
    least_evidence: float
    least_sum: float
    plain_flux_db: float
    least_strength_db: float
    fullness_frames: int
    softest_db: float
    merge_s: float
    heavier: float
    model_s: float
    early_s: float
    uncertainty_s: float
    least_tone: float = 0.0
    held: bool = False


HANDS = Kind(
    window_s=0.0232, bands_per_octave=8, lowest_hz=60, lag=2, spread=1,
    least_flux_db=0.23, share=0.1, mads=4.0, sharp=True, evidence=8, least_evidence=3.5, least_sum=22, plain_flux_db=1.1,
    least_strength_db=3.0, fullness_frames=6, softest_db=18.0,
    merge_s=0.05, heavier=9, model_s=0.0003, early_s=-0.002, uncertainty_s=0.008,
)  # fmt: skip
VOICE = Kind(
    window_s=0.0232, bands_per_octave=8, lowest_hz=80, lag=4, spread=1,
    least_flux_db=0.6, share=0.1, mads=4.0, sharp=True, evidence=25, least_evidence=6, least_sum=38, plain_flux_db=1.5,
    least_strength_db=3.0, fullness_frames=20, softest_db=16.0,
    merge_s=0.09, heavier=30, model_s=0.003, early_s=0.0, uncertainty_s=0.015, least_tone=0.3,
)  # fmt: skip
NOTES = Kind(
    window_s=0.0464, bands_per_octave=24, lowest_hz=60, lag=4, spread=1,
    least_flux_db=0.3, share=0.01, mads=1.5, sharp=False, evidence=25, least_evidence=0, least_sum=0, plain_flux_db=0.0,
    least_strength_db=0.0, fullness_frames=20, softest_db=26.0,
    merge_s=0.09, heavier=1, model_s=0.02, early_s=0.005, uncertainty_s=0.02, least_tone=0.55, held=True,
)  # fmt: skip
KINDS: dict[str, Kind] = {
    "claps": HANDS,
    "voice": VOICE,
    "wind": NOTES,
    "brass": NOTES,
    "strings": NOTES,
    "plucked": HANDS,
}


def kind_named(name: str) -> Kind:
    """Return the settings for ``name``, else raise RequestError."""
    if name not in KINDS:
        raise RequestError(f"kind of sound must be one of {', '.join(KINDS)}, got {name!r}")
    return KINDS[name]
