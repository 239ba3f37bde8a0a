"""From a line-up to what the foundry weighs and pours: order, masses, and the proof beside them."""
