"""Sound that was lost while a take was recorded: found, and its place to the sample."""
