"""The command: ``gaiter``, and ``python -m gaiter`` where it is not on the path."""

import sys

from gaiter.files.last_place import take_last_place

# What may wait for a clinic that is served by the same machine; its answers may not wait for this.
_BEHIND_OTHERS = ("study", "backup")


def run() -> None:
    """Runs the command; Ctrl-C while it is still being loaded is quiet, too."""
    if sys.argv[1:2] and sys.argv[1] in _BEHIND_OTHERS:
        take_last_place()
    try:
        from gaiter.cli import main  # noqa: PLC0415 - loading it is what may be interrupted

        main()
    except KeyboardInterrupt:
        raise SystemExit(130) from None


if __name__ == "__main__":
    run()
