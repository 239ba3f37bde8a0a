"""Parts of several solids, joined and cut, and the intersection of two parts."""
