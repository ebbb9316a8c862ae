"""Practising an entry: try after try, help thinning as it goes well."""
