"""What dimensions and bounds are worth: `worth` moves a number and re-solves (`neighbourhood`)."""
