"""Clapping along with a track, once or in a loop."""
