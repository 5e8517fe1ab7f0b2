"""Steps of one hour, then of six, into hours: instants on a line, totals spread, minima honoured.

A step is an entry of MET Norway's `timeseries`: an instant, and what the next 1, 6 and 12 hours bring. The last
steps lack some or all of the periods.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from hardenoff.errors import UnreadableError
from hardenoff.forecast.fields import as_number, as_object, utc_or_none
from hardenoff.forecast.frame import HOUR, FloatArray
from hardenoff.forecast.intervals import LONGEST, Span, hold, spread
from hardenoff.forecast.weather_codes import code_of_symbol

LONGEST_STEP = 6 * HOUR
"""A longer gap between steps is a hole, not a step."""


@dataclass(frozen=True, slots=True)
class Variable:
    """A detail of the reply: its name, our column, its unit in `meta.units` and the factor to ours."""

    name: str
    column: str
    unit: str
    factor: float = 1.0


DIRECTION = Variable("wind_from_direction", "wind_from_deg", "degrees")
INSTANTS = (
    Variable("air_temperature", "air_temperature_c", "celsius"),
    Variable("dew_point_temperature", "dew_point_c", "celsius"),
    Variable("relative_humidity", "relative_humidity_frac", "%", 0.01),
    Variable("wind_speed", "wind_speed_m_s", "m/s"),
    Variable("wind_speed_of_gust", "wind_gust_m_s", "m/s"),
    DIRECTION,
    Variable("cloud_area_fraction", "cloud_cover_frac", "%", 0.01),
    Variable("cloud_area_fraction_low", "cloud_low_frac", "%", 0.01),
    Variable("cloud_area_fraction_medium", "cloud_mid_frac", "%", 0.01),
    Variable("cloud_area_fraction_high", "cloud_high_frac", "%", 0.01),
)
BLOCK_LOW = Variable("air_temperature_min", "air_temperature_min_c", "celsius")
PRECIPITATION = Variable("precipitation_amount", "precipitation_mm", "mm")
CHANCE = Variable("probability_of_precipitation", "precipitation_probability_frac", "%", 0.01)


@dataclass(frozen=True, slots=True)
class Step:
    """One entry of the reply, from its instant to the next one's; the last lasts an hour, as far as one knows."""

    start: pd.Timestamp
    end: pd.Timestamp
    data: Mapping[str, object]

    def number(self, period: str, variable: Variable) -> float:
        """A detail in our unit; NaN if absent, null or no number. `period`: instant, next_1_hours, ..."""
        details = as_object(as_object(self.data.get(period)).get("details"))
        try:
            value = as_number(details.get(variable.name))
        except ValueError:
            return np.nan
        return np.nan if value is None else value * variable.factor

    @property
    def symbol(self) -> str | None:
        """The weather symbol of the step."""
        for period in ("next_1_hours", "next_6_hours"):
            symbol = as_object(as_object(self.data.get(period)).get("summary")).get("symbol_code")
            if symbol is not None:
                return str(symbol)
        return None


def read_steps(timeseries: list[object], notes: list[str]) -> tuple[Step, ...]:
    """The entries in order of time. UnreadableError if there are none, or if they span over a month."""
    data: dict[pd.Timestamp, Mapping[str, object]] = {}
    for entry in map(as_object, timeseries):
        moment = utc_or_none(entry.get("time"))
        if moment is not None:
            data[pd.Timestamp(moment)] = as_object(entry.get("data"))
    if len(data) < len(timeseries):
        notes.append(
            f"{len(timeseries) - len(data)} of {len(timeseries)} steps without a time of their own, left out"
        )
    if not data:
        raise UnreadableError(
            "MET Norway reply: no time steps in it",
            "`properties.timeseries` with a step an hour",
            "fetch it again",
        )
    starts = sorted(data)
    if starts[-1] - starts[0] > LONGEST:
        raise UnreadableError(
            f"MET Norway reply: steps from {starts[0]:%Y-%m-%d} to {starts[-1]:%Y-%m-%d}",
            "about ten days",
            "fetch it again",
        )
    ends = [*starts[1:], starts[-1] + HOUR]
    return tuple(Step(start, end, data[start]) for start, end in zip(starts, ends, strict=True))


def hours(steps: tuple[Step, ...]) -> pd.DataFrame:
    """The frame: instants filled to hours, totals spread, minima honoured."""
    index = pd.date_range(steps[0].start, steps[-1].start, freq="h", unit="ns")
    frame = pd.DataFrame(index=index)
    for variable in INSTANTS:
        values = np.array([step.number("instant", variable) for step in steps])
        turns = variable is DIRECTION
        frame[variable.column] = fill_between([step.start for step in steps], values, index, circular=turns)
    frame[PRECIPITATION.column] = spread(_rain(steps)).reindex(index)
    frame[CHANCE.column] = hold(_chances(steps)).reindex(index)
    codes = [Span(step.start, step.end, code_of_symbol(step.symbol)) for step in steps if step.symbol is not None]
    frame["weather_code"] = hold(codes).reindex(index)
    frame[BLOCK_LOW.column] = _hour_minima(frame["air_temperature_c"], steps)
    lengths = [(step.end - step.start) / HOUR for step in steps]
    lengths[-1] = lengths[-2] if len(steps) > 1 else 1.0
    frame["native_step_h"] = hold(
        Span(step.start, step.end, min(length, 24.0)) for step, length in zip(steps, lengths, strict=True)
    )
    return frame


def fill_between(
    stamps: list[pd.Timestamp], values: FloatArray, index: pd.DatetimeIndex, *, circular: bool = False
) -> FloatArray:
    """Values at hours between stamps on the straight line, for bearings (`circular`) on the shorter arc.

    NaN in a gap longer than LONGEST_STEP, and beside a missing value: nothing is bridged.
    """
    times = pd.DatetimeIndex(stamps)
    left = np.clip(times.searchsorted(index, side="right") - 1, 0, None)
    right = np.minimum(left + 1, len(times) - 1)
    gaps = times[right] - times[left]
    share = np.where(gaps > 0 * HOUR, (index - times[left]) / gaps.where(gaps > 0 * HOUR, HOUR), 0.0)
    change = values[right] - values[left]
    if circular:
        change = (change + 180.0) % 360.0 - 180.0
    between = values[left] + share * change
    filled = np.where(share == 0.0, values[left], np.where(gaps <= LONGEST_STEP, between, np.nan))
    return filled % 360.0 if circular else filled


def _rain(steps: tuple[Step, ...]) -> list[Span]:
    """Totals: the next hour's own where there is one, else the step's part of the next six hours'."""
    spans = []
    for step in steps:
        one, six = (step.number(period, PRECIPITATION) for period in ("next_1_hours", "next_6_hours"))
        start = step.start
        if not np.isnan(one):
            spans.append(Span(start, start + HOUR, one))
            start += HOUR
        end = min(step.end, step.start + LONGEST_STEP)
        if start < end and not np.isnan(six):
            spans.append(Span(start, end, six * ((end - start) / LONGEST_STEP)))
    return spans


def _chances(steps: tuple[Step, ...]) -> list[Span]:
    spans = []
    for step in steps:
        chances = [step.number(period, CHANCE) for period in ("next_1_hours", "next_6_hours")]
        known = [chance for chance in chances if not np.isnan(chance)]
        if known:
            spans.append(Span(step.start, min(step.end, step.start + LONGEST_STEP), known[0]))
    return spans


def _hour_minima(air_c: pd.Series[float], steps: tuple[Step, ...]) -> pd.Series[float]:
    """Least temperature of each hour: the colder of its ends, or the minimum of its long step if that is lower.

    The provider says how cold the step gets, not when. A minimum below everything on the interpolated line may
    fall in any hour of the step, so all of them carry it: a night that holds only part of the step still sees it.
    """
    lows = pd.Series(np.fmin(air_c, air_c.shift(-1)), air_c.index)
    for step in steps:
        end = min(step.end, step.start + LONGEST_STEP)
        block_c = step.number("next_6_hours", BLOCK_LOW)
        inside = (lows.index >= step.start) & (lows.index < end)
        if step.end - step.start > HOUR and not (lows[inside] <= block_c).any() and not np.isnan(block_c):
            lows[inside] = block_c
    return lows


def block_lows(steps: tuple[Step, ...]) -> pd.DataFrame:
    """The minima of the next six hours, from every step that gives one; in the hourly part they overlap."""
    rows = [(step.start, step.start + LONGEST_STEP, step.number("next_6_hours", BLOCK_LOW)) for step in steps]
    return pd.DataFrame([row for row in rows if not np.isnan(row[2])], columns=["start", "end", "min_c"])
