"""Balls of a line-up in section, filled by density."""
