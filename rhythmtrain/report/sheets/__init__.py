"""Practice sheets: a passage engraved with its counts."""
