"""ABC 2.1 (the abc music standard, December 2011) read for its rhythm, and the pitches of the tune."""
