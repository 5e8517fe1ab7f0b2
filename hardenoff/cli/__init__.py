"""The shell round the pure core: the only place with a clock, arguments, files to write and exit codes.

app       the program: its commands, its help, faults to exit codes
options   what all commands share, before or after the command's name
here      the garden file's path and the machine's clock
load      garden file, forecast, schedule; kept: what stays of a run for the next
again     `today` from what is kept, before the program is even loaded
output    answers to stdout, all else to stderr; colour, width, plain ASCII where needed
log       what was done: said (words to an entry), named (names and times in them), book (the journal)
morning (today, tonight, plan) · sun · forecast · garden (init, check) · demo   the commands
"""

import sys

from hardenoff.errors import Exit


def run() -> None:
    """Run the command line and leave with its exit code; what is unexpected keeps Python's traceback."""
    try:
        if "today" in sys.argv:
            from hardenoff.cli.again import shown_again

            if shown_again(sys.argv[1:]):
                return
        from hardenoff.cli.app import app
    except KeyboardInterrupt:  # Ctrl-C while it loads; later ones are the program's own
        sys.exit(Exit.INTERRUPTED)
    app()
