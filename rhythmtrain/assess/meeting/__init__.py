"""Played freely over a recording: held against it only where the two must meet."""
