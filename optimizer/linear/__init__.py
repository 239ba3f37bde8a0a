"""Labelled rows, and one weight class as a linear map from densities to moments."""
