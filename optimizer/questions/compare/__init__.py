"""Candidates side by side: tables, words, pictures, and the same as data."""
