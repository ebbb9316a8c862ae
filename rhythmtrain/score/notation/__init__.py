"""A passage as written signs: notes, rests, dots, ties and tuplets."""
