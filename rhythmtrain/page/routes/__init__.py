"""What the page can ask for: tables of addresses, each with the rehearsal that answers it."""
