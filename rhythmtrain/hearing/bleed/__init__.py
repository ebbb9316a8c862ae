"""The loudspeaker in the microphone: how late it is, the room between, and what is left without it."""
