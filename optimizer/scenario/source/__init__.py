"""The text of a scenario: where each key stands, edits, and the files that it names."""
