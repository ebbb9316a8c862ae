"""What should be heard: count-in, clicks, spoken counts, cues, and how help fades; all as data."""
