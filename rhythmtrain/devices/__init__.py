"""The machine room: sound card, MIDI, keys, and a shipped fake for each."""
