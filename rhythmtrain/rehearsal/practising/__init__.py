"""One session with a passage, step by step."""
