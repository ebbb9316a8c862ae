"""What is written: metre, passage, count line, drill file, and where a rhythm is hard."""
