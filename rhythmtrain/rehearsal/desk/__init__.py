"""What one does at the local page: plain values in, plain documents out, files under names of its own."""
