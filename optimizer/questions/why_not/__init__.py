"""Why a line-up is impossible, and what change would do.

`diagnosis` leads. `conflict` waives claims while the rest is still proven impossible (or, where
nothing is proven, not found). `changes` finds the changes that would do. `effort` limits the work
by counting it, not by time.
"""
