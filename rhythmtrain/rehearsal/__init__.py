"""What one does with it: the only wiring between the rooms."""
