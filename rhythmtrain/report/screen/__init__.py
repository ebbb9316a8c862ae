"""What the terminal draws while something plays."""
