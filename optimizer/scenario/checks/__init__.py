"""What can be wrong with a scenario, with its place in the file and what would be right."""
