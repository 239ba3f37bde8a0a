"""The search for free dimensions: starts, walks, moulds on the rack."""
