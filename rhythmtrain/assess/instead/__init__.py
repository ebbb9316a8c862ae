"""What a take is that is not the rhythm: the beat, clapped evenly, or the accompanist's part."""
