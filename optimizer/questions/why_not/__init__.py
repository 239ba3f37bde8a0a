"""Why a line-up is impossible, and what change would do.

`diagnosis` leads. `conflict` waives one claim after the other as long as the rest is proven
impossible (or, where nothing is proven, not found). `changes` has what may be changed. `effort`
counts the work, not the time.
"""
