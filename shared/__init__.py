"""What both packages stand on: errors, units, strict models, tolerances, published figures.

It knows nothing of balls. Long work reports to `activity`; `optimizer.terminal.progress` shows it.
"""
