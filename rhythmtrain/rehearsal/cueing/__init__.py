"""What the accompanist plays before an entry: known or heard, said, made audible."""
