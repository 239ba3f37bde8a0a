"""What `check` says of a scenario."""
