"""What each part does: its share of a ball's weight, of each RG² and of the differential."""
