"""A passage as text and JSON: bars and counts, what is hard, the cue before an entry."""
