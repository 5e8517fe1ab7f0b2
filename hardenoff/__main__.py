"""Hands over to the command line: `python -m hardenoff` and the console script are the same."""


def main() -> None:
    """Run the command line and leave with its exit code."""
    from hardenoff.cli import run

    run()


if __name__ == "__main__":
    main()
