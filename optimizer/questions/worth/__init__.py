"""What each dimension and each bound is worth."""
