"""Walls: the least distance between a part and its host, and between two parts in one host."""
