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

import errno
import sys

from hardenoff.errors import Exit

NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def run() -> None:
    """Run the command line and leave with its exit code; what is unexpected keeps Python's traceback."""
    try:
        if "today" in sys.argv:
            from hardenoff.cli.again import shown_again

            if shown_again(sys.argv[1:]):
                return
        from hardenoff.cli.app import app

        app()
    except KeyboardInterrupt:  # Ctrl-C while it loads; later ones are the program's own
        sys.exit(Exit.INTERRUPTED)
    except OSError as fault:
        if fault.filename is not None or fault.errno not in NO_ROOM:
            raise
        _no_room()


def _no_room() -> None:
    """Help or a usage error, which the library writes, found no room on the disk behind stdout or stderr."""
    from hardenoff.cli.output import let_go, remark

    let_go(sys.stdout)
    remark("there is no room for the answer: send it somewhere else")
    let_go(sys.stderr)
    sys.exit(Exit.USAGE)
