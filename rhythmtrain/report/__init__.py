"""Telling the player: sentences, tables, charts and pages."""
