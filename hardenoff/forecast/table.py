"""A plain CSV of hourly values: a weather station of one's own, or a provider that has no reader.

    # comment lines begin with a hash
    time,air_temperature_c,relative_humidity_frac
    2027-04-20T06:00:00+02:00,4.3,0.91

`time` is the START of the hour, ISO 8601 with its offset from UTC; the other columns are named as in `hours`,
which says their units. An empty cell is unknown, not zero.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime

import numpy as np
import pandas as pd

from hardenoff.errors import UnreadableError
from hardenoff.forecast.body import load_document
from hardenoff.forecast.fields import YEARS, shown
from hardenoff.forecast.frame import finished
from hardenoff.forecast.hours import COLUMN_NAMES, COLUMNS, Forecast, Origin
from hardenoff.forecast.reader import FORECAST, Request
from hardenoff.records import ForecastSettings, Place

UNKNOWN = ("", "nan", "na", "null")
"""What a cell without a value may hold, in any letter case."""

_UNITS = {column.name: column.unit for column in COLUMNS}
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"[-+]?\d{1,15},\d{1,15}")
_SLASHED_DATE = re.compile(r"\d{1,4}[/.]\d{1,2}([/.]\d{1,4})?\b")


class Table:
    """The reader. It asks nobody: its only body is the file."""

    key = "table"
    attribution = "Hourly values from a table of one's own"

    def requests(
        self, place: Place, settings: ForecastSettings, answered: Mapping[str, bytes]
    ) -> tuple[Request, ...]:
        """See Reader. None."""
        return ()

    def recognises(self, document: object) -> bool:
        """See Reader: text whose first line names a `time` column, whatever stands between the names."""
        if not isinstance(document, str):
            return False
        header = next(_lines(document), (0, ""))[1]
        return "time" in [name.strip().strip('"').lower() for name in re.split(r"[,;\t]", header)]

    def parse(
        self, bodies: Mapping[str, bytes], *, fetched_at: datetime | None, headers: Mapping[str, str]
    ) -> Forecast:
        """See Reader. The first fault of the file is raised, with its line."""
        text = load_document(bodies[FORECAST], "table")
        if not isinstance(text, str):
            raise UnreadableError(
                "table: JSON, not CSV", "a header line with `time`, then a line an hour", "give a CSV file"
            )
        origin = Origin(
            provider=self.key,
            attribution=self.attribution,
            issued_at=None,
            fetched_at=fetched_at,
            latitude=None,
            longitude=None,
        )
        return finished(_frame(text), origin)


READER = Table()


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """(line number, line) of every line that is neither blank nor a comment."""
    return ((n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip() and not line.startswith("#"))


def _frame(text: str) -> pd.DataFrame:
    lines = _lines(text)
    number, header = next(lines, (1, ""))
    names = _header(header, number)
    columns = [name for name in names if name != "time"]
    rows: list[list[float]] = []
    stamps: dict[datetime, int] = {}
    for number, line in lines:
        cells = _cells(line, len(names), number)
        stamp = _stamp(cells.pop(names.index("time")), number)
        if stamp in stamps:
            raise _fault(
                number, f"the hour of line {stamps[stamp]} again", "one line an hour", "keep one of the two lines"
            )
        stamps[stamp] = number
        rows.append([_value(cell, name, number) for cell, name in zip(cells, columns, strict=True)])
    index = pd.DatetimeIndex(list(stamps), dtype="datetime64[ns, UTC]", name="time")
    return pd.DataFrame(rows, index=index, columns=columns, dtype="float64")


def _header(line: str, number: int) -> list[str]:
    for separator, called in ((";", "semicolons"), ("\t", "tabs")):
        if separator in line:
            raise _fault(number, f"{called} between the columns", "commas", "save it as CSV with commas")
    try:
        names = [name.strip() for name in next(csv.reader([line]), [])]
    except csv.Error as error:
        raise _fault(number, f"not CSV ({error})", "names with commas between", "mend the header") from None
    if "time" not in names:
        raise _fault(number, "no column `time` in the header", "time,air_temperature_c,...", "add a header line")
    for name in names:
        if name != "time" and name not in COLUMN_NAMES:
            near = difflib.get_close_matches(name.lower(), COLUMN_NAMES, n=1, cutoff=0.5)
            meant = f"did you mean {near[0]} ({_UNITS[near[0]]})?" if near else "see the list of columns"
            raise _fault(number, f"unknown column {shown(name)}", f"any of {', '.join(COLUMN_NAMES)}", meant)
        if names.count(name) > 1:
            raise _fault(number, f"column {shown(name)} twice", "every column once", "delete one of them")
    if len(names) == 1:
        raise _fault(number, "no column but `time`", "air_temperature_c at least", "add the values")
    return names


def _cells(line: str, width: int, number: int) -> list[str]:
    try:
        cells = [cell.strip() for cell in next(csv.reader([line], strict=True))]
    except csv.Error as error:
        raise _fault(number, f"not CSV ({error})", "values with commas between", "mend the quotes") from None
    if len(cells) != width:
        raise _fault(
            number,
            f"{len(cells)} values for {width} columns",
            f"{width} values, an empty one where nothing is known",
            "write decimals with a point, 4.3, since a comma begins the next column; or complete the line",
        )
    return cells


def _stamp(cell: str, number: int) -> datetime:
    example, said = "2027-04-20T06:00:00+02:00", shown(cell)
    try:
        moment = datetime.fromisoformat(cell)
    except ValueError:
        why = ", whose day and month can be read either way round" if _SLASHED_DATE.match(cell) else ""
        raise _fault(number, f"time {said}{why}", f"ISO 8601 with offset, {example}", "rewrite it so") from None
    if moment.tzinfo is None:
        raise _fault(
            number,
            f"time {said} without an offset from UTC",
            f"{example}, or Z for UTC",
            "add the offset in force at that hour: a clock change makes local times ambiguous",
        )
    if moment.year not in YEARS:
        raise _fault(number, f"time {said} in the year {moment.year}", f"our times, {example}", "mend the year")
    moment = moment.astimezone(UTC)
    if (moment.minute, moment.second, moment.microsecond) != (0, 0, 0):
        raise _fault(
            number,
            f"time {said} is not on a full hour of UTC",
            "the start of each hour of UTC",
            "give hourly values; in a zone off the full hour, those from half past to half past",
        )
    return moment


def _value(cell: str, name: str, number: int) -> float:
    if cell.lower() in UNKNOWN:
        return np.nan
    if _NUMBER.fullmatch(cell) is None:
        fix = "write the number alone, or leave the cell empty"
        if _DECIMAL_COMMA.fullmatch(cell):
            fix = f"write {cell.replace(',', '.')}, with a point"
        raise _fault(number, f"{name} = {shown(cell)}", f"a number, in {_UNITS[name]}", fix)
    return float(cell)


def _fault(number: int, what: str, expected: str, fix: str) -> UnreadableError:
    return UnreadableError(f"table, line {number}: {what}", expected, fix)
