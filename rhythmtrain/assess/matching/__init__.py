"""Which clap belongs to which note: where the player was, tries, leftovers."""
