"""Makes any reader's frame keep the hours contract: regular UTC hours, all columns in order, believable values.

A reader hands over what its provider said, in our columns and units; `finished` does the rest:

    frame -> finish_hours (order, gaps, bounds) -> fill_estimates (gusts, humidity) -> Forecast
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from hardenoff.errors import UnreadableError
from hardenoff.forecast.fields import shown
from hardenoff.forecast.hours import COLUMN_NAMES, COLUMNS, Column, Forecast, Origin

HOUR = pd.Timedelta(hours=1)
LONGEST_MEAN_STEP = pd.Timedelta(hours=25)
"""A series with wider steps than this is no forecast: one wrong year would make half a million empty hours."""

GUST_OVER_MEAN = 1.5
"""Gust factor over open land where a provider gives the mean wind alone (ours; EN 1991-1-4 leads to 1.43 to
1.65 for 3-second gusts over grassland and farmland, roughness lengths 0.03 to 0.1 m)."""

AIR = COLUMNS[0]
"""What bounds a temperature of the air, be it of an hour or of a block."""

FloatArray = npt.NDArray[np.float64]


def finished(
    frame: pd.DataFrame,
    origin: Origin,
    *,
    end_labelled: Sequence[str] = (),
    block_lows: pd.DataFrame | None = None,
    members_c: pd.DataFrame | None = None,
) -> Forecast:
    """A Forecast that keeps the contract; `origin` gains the notes and the estimated columns.

    Parameters
    ----------
    frame : DataFrame
        tz-aware index, label = start of the hour; any of COLUMN_NAMES, in their units.
    end_labelled : sequence of str
        Columns whose values are stamped at the end of their hour instead; they are moved.
    block_lows : DataFrame, optional
        Columns `start`, `end` (tz-aware) and `min_c` (degC).
    members_c : DataFrame, optional
        Air temperature of ensemble members, degC, on the same kind of index.

    Raises
    ------
    UnreadableError
        From `finish_hours`.
    """
    hours, notes = finish_hours(frame, notes=origin.notes, end_labelled=end_labelled)
    hours, estimated = fill_estimates(hours)
    lows, wild = _block_lows(block_lows)
    origin = dataclasses.replace(
        origin, notes=(*notes, *wild), estimated=tuple(dict.fromkeys((*origin.estimated, *estimated)))
    )
    if members_c is not None:
        members_c = members_c.reindex(hours.index)
    return Forecast(hours, lows, origin, members_c)


def finish_hours(
    frame: pd.DataFrame, *, notes: Sequence[str] = (), end_labelled: Sequence[str] = ()
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Hours by the contract, and what had to be left out.

    The index becomes strictly hourly UTC, named `time`, from the first stamp to the last; hours between
    stamps are NaN. Values outside the bounds of COLUMNS become NaN with a note; those within a column's
    slack become the bound. A missing `native_step_h` is the distance between stamps.

    Raises
    ------
    UnreadableError
        No stamps, stamps without a zone or off the full hour, two rows that disagree about one hour, or
        stamps so far apart that they can't be a forecast.
    """
    said = list(notes)
    frame = shift_end_labelled(_in_order(frame, said), end_labelled)
    steps = _steps_h(frame.index)
    index = pd.date_range(frame.index[0], frame.index[-1], freq="h", name="time", unit="ns")
    hours = frame.reindex(index=index, columns=list(COLUMN_NAMES)).astype("float64")
    hours["native_step_h"] = hours["native_step_h"].fillna(steps.reindex(index).ffill())
    for column in COLUMNS:
        hours[column.name] = _believable(hours[column.name], column, said)
    return hours, tuple(said)


def fill_estimates(hours: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Gusts from the mean wind, dew point and humidity from each other, where one is missing.

    Returns the hours and the names of the columns that now hold estimates. A single hour missing after a
    column's last value stays missing: a column labelled at the end of its hour always lacks it.
    """
    hours = hours.copy()
    air, dew, humidity = (hours[name] for name in ("air_temperature_c", "dew_point_c", "relative_humidity_frac"))
    guesses = {
        "wind_gust_m_s": GUST_OVER_MEAN * hours["wind_speed_m_s"],
        "dew_point_c": pd.Series(dew_point_c(air, humidity), hours.index),
        "relative_humidity_frac": pd.Series(relative_humidity_frac(air, dew), hours.index).clip(upper=1.0),
    }
    estimated = []
    for name, guess in guesses.items():
        gaps = hours[name].isna() & guess.notna()
        after_last = gaps & hours[name].bfill().isna()
        if after_last.sum() == 1 and hours[name].notna().any():
            gaps &= ~after_last
        if gaps.any():
            hours[name] = hours[name].where(~gaps, guess)
            estimated.append(name)
    return hours, tuple(estimated)


def shift_end_labelled(frame: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Move means, sums and maxima stamped at the END of their hour to its start (stamps sorted, none twice).

    The hour before the first stamp, which would have no temperature, is dropped; the last hour is NaN.
    """
    moved = [name for name in columns if name in frame.columns]
    frame = frame.copy()
    frame[moved] = frame[moved].shift(freq=-HOUR).reindex(frame.index)
    return frame


def numbers(values: Sequence[object], name: str) -> FloatArray:
    """A JSON list as floats; null is NaN, 0 stays 0. UnreadableError if anything else than a number is in it."""
    for value in values:
        if value is not None and (isinstance(value, bool) or not isinstance(value, int | float)):
            raise UnreadableError(
                f"{name}: {shown(value)} among its values", "numbers or null", "fetch the reply again"
            )
    try:
        return np.array(values, dtype="float64")
    except OverflowError:
        raise UnreadableError(
            f"{name}: a number too large for any weather", "numbers or null", "fetch the reply again"
        ) from None


def relative_humidity_frac(air_c: pd.Series, dew_c: pd.Series) -> FloatArray:
    """Relative humidity over water, 0 to 1, from air and dew point (degC); Magnus form of WMO-No. 8, annex 4.B."""
    return np.exp(_magnus(dew_c) - _magnus(air_c))


def dew_point_c(air_c: pd.Series, humidity_frac: pd.Series) -> FloatArray:
    """Dew point (degC) from air (degC) and relative humidity (0 to 1); NaN in perfectly dry air."""
    exponent = _magnus(air_c) + np.log(humidity_frac.where(humidity_frac > 0.0).to_numpy())
    return np.asarray(243.12 * exponent / (17.62 - exponent))


def _magnus(celsius: pd.Series) -> FloatArray:
    """Exponent of the saturation vapour pressure 6.112 hPa exp(17.62 t / (243.12 + t)), WMO-No. 8 annex 4.B."""
    t = celsius.to_numpy(dtype="float64")
    return np.asarray(17.62 * t / (243.12 + t))


def _in_order(frame: pd.DataFrame, notes: list[str]) -> pd.DataFrame:
    index = frame.index
    if len(index) == 0:
        raise _bad_stamps("no hours in it", "one row an hour, 16 days at best")
    if not isinstance(index, pd.DatetimeIndex) or index.tz is None:
        raise _bad_stamps("stamps without a time zone", "stamps in UTC or with their offset")
    if index.hasnans:
        raise _bad_stamps("a row without a stamp", "a stamp in every row")
    index = index.tz_convert("UTC").as_unit("ns").rename("time")
    odd = index[index != index.floor("h")]
    if len(odd):
        raise _bad_stamps(f"a stamp off the full hour ({odd[0]:%Y-%m-%d %H:%M} UTC)", "stamps at minute 00 of UTC")
    if index.max() - index.min() > LONGEST_MEAN_STEP * len(index):
        raise _bad_stamps(
            f"{len(index)} stamps from {index.min():%Y-%m-%d} to {index.max():%Y-%m-%d}", "a row an hour"
        )
    return _without_repeats(frame.set_axis(index), notes).sort_index()


def _without_repeats(frame: pd.DataFrame, notes: list[str]) -> pd.DataFrame:
    """Drop rows that say the same twice; refuse two rows that say different things of one hour."""
    if not frame.index.has_duplicates:
        return frame
    once = frame.reset_index().drop_duplicates().set_index("time")
    if once.index.has_duplicates:
        twice = once.index[once.index.duplicated()][0]
        raise _bad_stamps(f"two different rows for {twice:%Y-%m-%d %H:%M} UTC", "one row an hour")
    notes.append(f"{len(frame) - len(once)} repeated hours left out")
    return once


def _steps_h(index: pd.Index) -> pd.Series:
    """Hours from each stamp to the next; the last one takes the step before it."""
    if len(index) == 1:
        return pd.Series(1.0, index)
    seconds = np.diff(index.to_numpy(dtype="datetime64[s]").astype("int64"))
    return pd.Series(np.append(seconds, seconds[-1]) / 3600.0, index).clip(upper=24.0)


def _believable(values: pd.Series, column: Column, notes: list[str]) -> pd.Series:
    near = values.between(column.least - column.slack, column.most + column.slack)
    wild = int((values.notna() & ~near).sum())
    if wild:
        unit = "" if column.unit == "1" else f" {column.unit}"
        notes.append(
            f"{column.name}: {wild} of {len(values)} hours outside {column.least:g} to {column.most:g}{unit}, "
            "left out"
        )
    return values.where(near).clip(column.least, column.most) + 0.0  # no negative zero


def _block_lows(given: pd.DataFrame | None) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """The lows in their shape, without those that no air can have, and a note of these."""
    if given is None:
        given = pd.DataFrame({"start": [], "end": [], "min_c": []})
    stamps = {name: pd.to_datetime(given[name], utc=True).dt.as_unit("ns") for name in ("start", "end")}
    lows = pd.DataFrame({**stamps, "min_c": given["min_c"].astype("float64")})
    wild = lows["min_c"].notna() & ~lows["min_c"].between(AIR.least, AIR.most)
    note = (
        f"lows of blocks: {wild.sum()} of {len(lows)} outside {AIR.least:g} to {AIR.most:g} {AIR.unit}, left out"
    )
    return lows[~wild].reset_index(drop=True), (note,) * bool(wild.any())


def _bad_stamps(what: str, expected: str) -> UnreadableError:
    return UnreadableError(
        f"forecast: {what}", expected, "fetch the forecast again, or mend the file's time column"
    )
