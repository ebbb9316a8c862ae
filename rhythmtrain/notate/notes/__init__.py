"""The accompanist's written notes, laid on a recording of them."""
