"""`python -m docgen`: the command line."""

from docgen.cli import main

main()
