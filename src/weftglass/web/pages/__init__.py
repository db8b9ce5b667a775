"""What each page shows, as frozen facts: text ready to read, numbers with unit and uncertainty, no callables."""
