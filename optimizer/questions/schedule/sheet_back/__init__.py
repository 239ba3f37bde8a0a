"""A sheet that came back, read and compared with what would be written now."""
