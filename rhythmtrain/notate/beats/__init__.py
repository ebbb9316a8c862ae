"""Which beat of a recording falls when, from what it shows and what a person marks."""
