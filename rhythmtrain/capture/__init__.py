"""What was played: onsets on one clock."""
