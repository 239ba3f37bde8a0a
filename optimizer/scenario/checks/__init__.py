"""Mistakes in a scenario, each with its place in the file and what would be right."""
