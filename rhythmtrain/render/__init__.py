"""Making it audible: voices, words on the beat, the mixer, MIDI."""
