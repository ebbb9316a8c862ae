"""Whole folders of passages as tracks, MIDI, sheets and one page, to be handed out."""
