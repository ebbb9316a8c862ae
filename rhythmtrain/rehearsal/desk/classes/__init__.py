"""A class at the page: recordings as they come, heard in the background, told, taken away."""
