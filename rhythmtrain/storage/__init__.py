"""The cupboard: drills, sounds and audio files."""
