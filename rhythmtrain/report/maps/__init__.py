"""A beat map, told and drawn."""
