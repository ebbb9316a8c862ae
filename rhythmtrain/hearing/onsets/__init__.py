"""When something was played: onsets, and which of them are the player's own."""
