"""Linear programs, warm, and the search that climbs by them."""
