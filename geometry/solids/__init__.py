"""Parts of several solids, joined and cut, and what two parts have in common."""
