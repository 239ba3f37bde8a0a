"""Solids whose surface is triangles: read, checked, and measured for just what they are."""
