"""Where a rhythm is hard, and why."""
