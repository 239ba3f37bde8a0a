"""Windows: their screen, data and picture."""
