"""The report: one page on which a line-up is looked at, tried, checked and rebuilt."""
