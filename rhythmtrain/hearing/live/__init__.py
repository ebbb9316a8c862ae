"""Onsets while they happen, the loudspeaker taken out as it plays."""
