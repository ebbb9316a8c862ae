"""Which passage a person means: found, read from any file, shown, engraved, given away."""
