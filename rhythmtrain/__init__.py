"""Practise the rhythm of a passage and the entry after a rest, beside a recorded accompaniment."""

__version__ = "0.1.0"
