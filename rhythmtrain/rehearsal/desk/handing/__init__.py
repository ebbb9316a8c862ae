"""What one takes away from the page, or hands out, as one file: sheets, tracks, packs, passages."""
