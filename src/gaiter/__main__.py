"""The command: ``gaiter``, and ``python -m gaiter`` where it is not on the path."""


def run() -> None:
    """Runs the command; Ctrl-C while it is still being loaded is quiet, too."""
    try:
        from gaiter.cli import main  # noqa: PLC0415 - loading it is what may be interrupted

        main()
    except KeyboardInterrupt:
        raise SystemExit(130) from None


if __name__ == "__main__":
    run()
