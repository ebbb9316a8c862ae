"""When it falls: tempo map and the timeline of a passage as played."""
