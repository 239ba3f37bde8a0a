"""samespin reconcile: from measured balls back to what was poured, and on to the next pour."""
