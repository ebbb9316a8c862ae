"""A clapped rhythm, written down."""
