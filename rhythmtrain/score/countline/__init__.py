"""The count line: a rhythm written as one says it, read and written."""
