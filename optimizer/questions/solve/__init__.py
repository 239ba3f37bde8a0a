"""The main command: the line-up, with the questions that `solve` takes as options."""
