"""The verdict on what was matched: notes, entries, lengths, and the take as a whole."""
