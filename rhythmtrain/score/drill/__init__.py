"""The drill file: a passage and how to practise it, read and written."""
