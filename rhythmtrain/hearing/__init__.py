"""What audio contains: onsets and their certainty; knows nothing of what was to be played."""
