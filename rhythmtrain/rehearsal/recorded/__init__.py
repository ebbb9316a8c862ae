"""The recording that a passage is played with: opened, marked, its notes laid on it, doubted."""
