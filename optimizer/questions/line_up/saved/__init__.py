"""Solutions that were saved: read, measured anew, and held against what they say."""
