"""What to do next: the ladder of tempi."""
