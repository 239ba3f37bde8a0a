"""Windows of cores on the pin axis: all corners of the densities, and what lies between them."""
