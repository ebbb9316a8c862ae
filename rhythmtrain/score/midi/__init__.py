"""MIDI files: whole or damaged, written or played, as passages."""
