"""Saved solutions: read, measured anew, and compared with the file."""
