"""A line-up, or why there is none: its screen, its data, and read back."""
