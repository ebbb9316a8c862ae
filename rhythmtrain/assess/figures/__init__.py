"""Figures that are read wrongly: where they can be, where their notes land, what is said."""
