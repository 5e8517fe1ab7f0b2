"""What to say when the garden file is no valid TOML: the line, the column, and the usual slip behind it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from hardenoff.errors import HardenoffError
from hardenoff.garden.source import statements
from hardenoff.units import UNITS

_AT = re.compile(r"\(at line (\d+), column (\d+)\)")
_UNIT = "|".join(sorted({re.escape(unit.symbol) for unit in UNITS}, key=len, reverse=True))
_BARE_QUANTITY = re.compile(rf"([\w.-]+)\s*=\s*([+-]?[\d.]+\s*°?(?:{_UNIT})(?:\s+[\d./]+\s*(?:{_UNIT}))?)\b")

# What stands on the line -> what to do. The first that fits is told.
_SLIPS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"[“”„‘’]"), 'replace the curly quotes by straight ones: "'),
    (re.compile(r"=\s*\[?\s*\d{1,2}:\d\d"), 'put times in quotes: "07:40", or "06:30-07:40" for a window'),
    (re.compile(r"=\s*\d{1,4}[/.]\d{1,2}[/.]\d{2,4}"), "write dates as year-month-day: 2027-05-01"),
    (re.compile(r"^[^={\[]+=[^={\[]+[\s,]\w+\s*="), "write one key = value on a line"),
    (re.compile(r"=\s*[+-]?\d+,\d"), "write decimals after a point: 40.01"),
    (re.compile(r"=\s*[+-]?0\d"), "write numbers without a zero in front, and dates as 2027-05-01"),
    (
        re.compile(r"=\s*(?:yes|no|on|off|True|False|YES|NO)\b"),
        "write true or false, in lower case, without quotes",
    ),
    (re.compile(r'"[^"]*\\[^"]*"'), "write paths with / or in single quotes: 'C:\\garden\\horizon.csv'"),
    (re.compile(r"=\s*\{[^}]*$"), "keep everything between { and } on one line"),
    (re.compile(r"^\s*\[[^\]=]*$"), "close the bracket of the heading: [place] or [[spot]]"),
    (re.compile(r'^[^"]*"[^"]*(?:"[^"]*"[^"]*)*$'), "close the quotes on this line"),
    (re.compile(r'"\s+["{\[]|^\s*["{]'), "put a comma between the entries of a list"),
    (re.compile(r"=\s*[^\W\d][^\"]*$"), 'put texts in quotes: name = "carport"'),
    (re.compile(r"^[^=\[]*$"), "write it as key = value, or put # before it to make it a remark"),
)
_COMPLAINTS = (
    ("Invalid date", "no such day: check year, month and day, as in 2027-05-01"),
    ("Cannot overwrite", "this key is there twice: remove one of the two"),
    (
        "Cannot declare",
        "this heading is there twice: a second spot or batch needs double brackets, as in [[spot]]",
    ),
)


def broken(path: Path, text: str, error: Exception) -> HardenoffError:
    """The parser's complaint as a fault with its line, its column and one thing to do."""
    expected = 'TOML: lines of the form key = value, texts and times in quotes, as in name = "carport"'
    if isinstance(error, RecursionError):
        return HardenoffError(f"{path}: lists are nested too deeply", expected, "remove the extra brackets")
    if not isinstance(error, tomllib.TOMLDecodeError):
        return HardenoffError(
            f"{path}: a number has thousands of digits", expected, "write a number of common size"
        )
    lines = text.split("\n")
    found = _AT.search(str(error))
    if found:
        number, column = int(found[1]), int(found[2])
        where = f"{path}, line {number}, column {column}: broken TOML here"
    else:
        number, column = _unfinished(text), 1
        where = f"{path}, line {number}: what begins here is never closed"
    line = lines[number - 1] if number <= len(lines) else ""
    shown = f"\n    {line.strip()[:100]}" if line.strip() else ""
    return HardenoffError(f"{where}{shown}", expected, _tip(line, column, str(error)))


def _unfinished(text: str) -> int:
    """First line of the statement that never ends."""
    last = 0
    for statement in statements(text):
        last = statement.last
    for number, line in enumerate(text.split("\n")[last:], start=last + 1):
        if line.strip() and not line.lstrip().startswith("#"):
            return number
    return last + 1


def _tip(line: str, column: int, complaint: str) -> str:
    for bare in _BARE_QUANTITY.finditer(line):
        if bare.start(2) < column <= bare.end() + 1:
            return f'put a value with a unit in quotes: {bare[1]} = "{bare[2]}"'
    if complaint.startswith("Unclosed array"):
        return "close the list with ] and put a comma between its entries"
    for start, tip in _COMPLAINTS:
        if complaint.startswith(start):
            return tip
    for slip, tip in _SLIPS:
        if slip.search(line):
            return tip
    return "look at this line and the one above it: a quote, a bracket or a comma is missing"
