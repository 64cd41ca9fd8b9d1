"""Runs `python -m headwright`."""

from headwright.cli.main import main

main()
