"""What a session says, step by step, and what is to be done today."""
