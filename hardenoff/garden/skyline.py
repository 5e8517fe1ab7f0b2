"""Skylines: points in order round the compass, from the garden file or from a CSV file beside it."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

from hardenoff.garden.values import WrongValue, given, skyline_point
from hardenoff.whole import read_file

Points = tuple[tuple[float, float], ...]

_HEADER = ["bearing_deg", "height_deg"]
_EXPECTED = "a CSV file with the heading bearing_deg,height_deg and two numbers a line"


def in_order(points: Sequence[tuple[float, float]]) -> Points:
    """The points sorted by bearing, 360 counted as 0. WrongValue if one bearing has more than two heights.

    Two heights at one bearing are an upright edge: the first is met coming clockwise, the second going on.
    """
    ordered = sorted(dict.fromkeys(points), key=lambda point: (point[0] % 360, point[0] != 360))
    turned = list(dict.fromkeys((bearing % 360, height) for bearing, height in ordered))
    bearings = [bearing for bearing, _ in turned]
    for bearing in bearings:
        if bearings.count(bearing) > 2:
            raise WrongValue(
                f"bearing {bearing:g} has {bearings.count(bearing)} heights",
                "one height a bearing, or two for an upright edge",
                "keep the two that the edge goes from and to",
            )
    return tuple(turned)


def read_skyline(path: Path) -> list[tuple[float, float]]:
    """The points of a CSV file; lines that begin with # are remarks. WrongValue names the line."""
    try:
        lines = read_file(path).decode("utf-8-sig").splitlines()
    except (OSError, UnicodeError) as error:
        why = "there is no such file" if isinstance(error, FileNotFoundError) else "it can't be read as text"
        raise WrongValue(
            f"{path}: {why}", _EXPECTED, "check the name; it is looked for beside the garden file"
        ) from None
    try:
        numbered = list(enumerate(csv.reader(lines), start=1))
    except csv.Error as error:
        raise WrongValue(f"{path} is no CSV ({error})", _EXPECTED, "write lines such as 90,12.5") from None
    rows = [(number, row) for number, row in numbered if row and not row[0].startswith("#")]
    if not rows or [cell.strip() for cell in rows[0][1]] != _HEADER:
        found = ",".join(rows[0][1]) if rows else "nothing"
        raise WrongValue(
            f"{path} begins with {given(found)}", _EXPECTED, "make bearing_deg,height_deg its first line"
        )
    if len(rows) == 1:
        raise WrongValue(f"{path} has no points", _EXPECTED, "add lines such as 90,12")
    return [_point(path, number, row) for number, row in rows[1:]]


def _point(path: Path, number: int, row: list[str]) -> tuple[float, float]:
    try:
        return skyline_point([float(cell) for cell in row])
    except WrongValue as error:
        raise WrongValue(f"{path}, line {number}: {error.what}", error.expected, error.fix) from None
    except ValueError:
        raise WrongValue(
            f"{path}, line {number}: {given(','.join(row))} are no numbers",
            _EXPECTED,
            "write lines such as 90,12.5",
        ) from None
