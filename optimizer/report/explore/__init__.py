"""Many moulds: table, screen, data and picture."""
