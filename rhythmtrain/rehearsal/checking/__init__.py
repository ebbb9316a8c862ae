"""A take heard against its passage, reported and kept."""
