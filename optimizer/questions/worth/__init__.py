"""What dimensions and bounds are worth: `worth` moves one number and re-solves (`around`)."""
