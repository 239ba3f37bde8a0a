"""Outlines of lines and arcs: what they enclose, their union and difference, and faults."""
