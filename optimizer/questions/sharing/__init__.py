"""Fewer pours and moulds: screen and data."""
