"""The local page: a thin edge over ``rehearsal``, for whoever does not type commands."""
