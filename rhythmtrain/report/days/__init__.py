"""How it goes over days: text, page, picture; the takes that were kept."""
