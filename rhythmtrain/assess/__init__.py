"""How close it was: matching, tries, offsets, free tempo, entries."""
