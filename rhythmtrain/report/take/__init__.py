"""A take, told: praise, what was amiss, table, picture, page, and what to do next."""
