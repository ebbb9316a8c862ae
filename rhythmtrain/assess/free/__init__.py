"""Free playing: wrong rhythm told from free tempo."""
