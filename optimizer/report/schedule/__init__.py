"""The schedule for the foundry, and sheets that come back."""
