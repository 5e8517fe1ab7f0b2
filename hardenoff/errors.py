"""What can go wrong, said in three parts, and the exit code that says it to scripts."""

from enum import IntEnum


class Exit(IntEnum):
    """Exit codes of every command."""

    DONE = 0
    """Answered, also when some nights are `unknown` because the reply had holes."""
    BUG = 1
    """A fault of this program: left to Python, with a traceback."""
    USAGE = 2
    """The command line or the garden file is wrong, or there is no garden."""
    NO_FORECAST = 3
    """No forecast to be had, none left at or after now, or older than 36 hours: keep inside."""
    UNREADABLE = 4
    """Data were there and could not be read: HTML, cut off, an error reply, another place."""
    ACT_TONIGHT = 10
    """`tonight --exit-code` only: something has to be brought in or covered, or it is unknown."""
    INTERRUPTED = 130
    """Ctrl-C."""


class HardenoffError(Exception):
    """A fault with its repair: what is wrong and where, what is expected, what to do.

    Parameters
    ----------
    what : str
        The fault, its place (file, key) and the value that was given.
    expected : str
        What would have been right, with its unit.
    fix : str
        One thing to do now.
    """

    exit_code: Exit = Exit.USAGE

    def __init__(self, what: str, expected: str, fix: str) -> None:
        super().__init__(what)
        self.what = what
        self.expected = expected
        self.fix = fix

    def __str__(self) -> str:
        return f"{self.what}\n  expected: {self.expected}\n  do this:  {self.fix}"


class UsageError(HardenoffError):
    """The command line asks for something that is not there: a spot, a file, a zone."""


class GardenError(HardenoffError):
    """The garden file is wrong; `faults` holds every one found, each in three parts."""

    def __init__(self, faults: "tuple[HardenoffError, ...]") -> None:
        first = faults[0]
        super().__init__(first.what, first.expected, first.fix)
        self.faults = faults

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


class NoForecastError(HardenoffError):
    """There is no forecast to plan from; plants stay inside."""

    exit_code = Exit.NO_FORECAST


class UnreadableError(HardenoffError):
    """A reply, a saved forecast or a data file can't be read as what it should be."""

    exit_code = Exit.UNREADABLE


class NotCoveredError(UnreadableError):
    """The provider answered, and does not serve this place: not an outage, so ask the next one."""
