"""The supplied voices as they were made: where in a word its beat point was looked for."""

import tomllib
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "audio_samples"


def beat_windows(language: str) -> dict[str, dict[str, float]]:
    """Return the ``from_s`` and ``to_s`` of the words of ``language`` that have an override."""
    overrides = tomllib.loads((SAMPLES / "overrides.toml").read_text(encoding="utf-8"))["override"]
    return {
        key: {side: entry[side] for side in ("from_s", "to_s") if side in entry}
        for entry in overrides
        if entry["language"] == language
        for key in entry["keys"]
    }
