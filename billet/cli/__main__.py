"""`python -m billet.cli` runs the command line."""

from billet.cli import main

main()
