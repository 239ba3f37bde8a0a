"""`python -m optimizer.cli` is `samespin`."""

from optimizer.cli import main

main()
