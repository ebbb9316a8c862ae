"""What is brought for a passage or a recording at the page: the accompanist's notes, a beat map."""
