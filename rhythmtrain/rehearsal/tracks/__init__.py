"""Tracks to practise to: made from a passage, with its recordings, and written."""
