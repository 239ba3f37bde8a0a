"""The text of a scenario: positions of its keys, edits, and the files that it names."""
