"""A teacher's class: everybody's recordings heard, and each student told."""
