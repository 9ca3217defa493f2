"""``python -m gaiter``: the command, where it is not on the path."""

from gaiter.cli import main

main()
