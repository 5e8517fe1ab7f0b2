"""How far a forecast night low is likely to be off, by lead time."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import hypot

from hardenoff.tables.rows import read_rows, sourced


def low_spread_c(lead_days: float) -> float:
    """Standard deviation of a forecast night low against the low in the garden. [C]

    Parameters
    ----------
    lead_days : float
        1 for the coming night, one more for each night after it. [d]

    Notes
    -----
    The forecast's own error and the siting error, in quadrature. The former runs in straight lines between the
    whole days of the table and is constant before the first one. Past the last one the low is no better known
    than from the calendar, and the spread is the season's own. Values and sources: `low_spread.csv`.
    """
    forecast_sd_c = _forecast_sd_c(lead_days) if lead_days <= last_lead_days() else _sd_of("season")
    return hypot(forecast_sd_c, siting_sd_c())


def last_lead_days() -> float:
    """Lead time up to which there are forecast errors in the table. [d]"""
    return _points()[-1][0]


def siting_sd_c() -> float:
    """Standard deviation of the garden's low against the grid point's. [C]"""
    return _sd_of("siting")


@cache
def _sd_of(error: str) -> float:
    (value,) = (sourced(row, "sd").value for row in read_rows("low_spread.csv") if row["error"] == error)
    return value


@cache
def _points() -> tuple[tuple[float, float], ...]:
    rows = (row for row in read_rows("low_spread.csv") if row["error"] == "forecast")
    return tuple(sorted((float(row["lead_days"]), sourced(row, "sd").value) for row in rows))


def _forecast_sd_c(lead_days: float) -> float:
    points = _points()
    if lead_days <= points[0][0]:
        return points[0][1]
    for (day, sd), (next_day, next_sd) in pairwise(points):
        if lead_days <= next_day:
            return sd + (next_sd - sd) * (lead_days - day) / (next_day - day)
    return points[-1][1]
