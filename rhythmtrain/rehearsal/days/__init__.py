"""Over days: takes that were kept, how it goes, what to do today."""
