"""The price of a free target: screen, data and picture."""
