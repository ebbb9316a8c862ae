"""The page that goes with a pack of tracks."""
