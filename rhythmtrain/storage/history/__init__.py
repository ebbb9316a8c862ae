"""The history: every take that was kept, in one file, whole whatever happens."""
