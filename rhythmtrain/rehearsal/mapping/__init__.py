"""From a recording and what a person says of it to a beat map."""
