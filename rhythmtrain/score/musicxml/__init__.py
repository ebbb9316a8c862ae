"""MusicXML read for its rhythm: from the bytes of a file to a passage, in rooms from the outside in."""
