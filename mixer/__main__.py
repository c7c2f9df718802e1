"""Run the program with `python -m mixer`."""

from mixer.cli import main

main()
