"""One take, here and now: devices, screen, microphone beside a loudspeaker, and what came of it."""
