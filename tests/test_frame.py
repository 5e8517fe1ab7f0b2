"""The finish that every reader's frame goes through: order, gaps, bounds, estimates."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize
from validation import compare, outside

from hardenoff.errors import UnreadableError
from hardenoff.forecast import COLUMN_NAMES, COLUMNS, Origin
from hardenoff.forecast.frame import (
    dew_point_c,
    fill_estimates,
    finish_hours,
    finished,
    numbers,
    relative_humidity_frac,
    shift_end_labelled,
)

ORIGIN = Origin("somewhere", "nobody", None, None, None, None)


def frame(stamps: list[str], **columns: list[float]) -> pd.DataFrame:
    return pd.DataFrame(columns, index=pd.DatetimeIndex(pd.to_datetime(stamps, utc=True)))


def hourly(count: int, **columns: list[float]) -> pd.DataFrame:
    return pd.DataFrame(columns, index=pd.date_range("2027-04-18", periods=count, freq="h", tz="UTC"))


# --- the index -----------------------------------------------------------------------------------------


def test_stamps_in_any_zone_become_utc() -> None:
    """A half-hour zone lands on full hours of UTC."""
    given_frame = hourly(3, air_temperature_c=[1.0, 2.0, 3.0])
    given_frame.index = given_frame.index.tz_convert("Asia/Kolkata")
    hours, notes = finish_hours(given_frame)
    assert str(hours.index[0]) == "2027-04-18 00:00:00+00:00"
    assert notes == ()


def test_hours_between_wide_steps_are_missing() -> None:
    """A three-hourly series has its values at its own hours and NaN between: nothing is interpolated here."""
    hours, _ = finish_hours(frame(["2027-04-18T00", "2027-04-18T03"], air_temperature_c=[0.0, 6.0]))
    assert hours["air_temperature_c"].fillna(-99.0).tolist() == [0.0, -99.0, -99.0, 6.0]
    assert hours["native_step_h"].tolist() == [3.0] * 4


def test_step_changes_where_the_series_does() -> None:
    """One hour, then six: each hour has the step of the block it lies in, the last one that before it."""
    hours, _ = finish_hours(
        frame(["2027-04-18T00", "2027-04-18T01", "2027-04-18T07"], air_temperature_c=[1, 2, 3])
    )
    assert hours["native_step_h"].tolist() == [1.0] + [6.0] * 7


def test_a_step_over_a_day_counts_as_a_day() -> None:
    """A hole of 30 hours leaves a step that is known to be long, not an unknown one."""
    hours, notes = finish_hours(frame(["2027-04-18T00", "2027-04-19T06"], air_temperature_c=[1.0, 2.0]))
    assert (hours["native_step_h"] == 24.0).all()
    assert notes == ()


def test_a_stated_step_is_kept() -> None:
    """What a reader knows of its provider's step is not measured again."""
    hours, _ = finish_hours(hourly(2, native_step_h=[3.0, np.nan]))
    assert hours["native_step_h"].tolist() == [3.0, 1.0]


def test_rows_out_of_order_are_sorted() -> None:
    """Order of rows means nothing."""
    hours, _ = finish_hours(frame(["2027-04-18T01", "2027-04-18T00"], air_temperature_c=[2.0, 1.0]))
    assert hours["air_temperature_c"].tolist() == [1.0, 2.0]


def test_a_row_said_twice_is_dropped_with_a_note() -> None:
    """Equal rows of one hour are one; NaN equals NaN here."""
    twice = frame(["2027-04-18T00"] * 2, air_temperature_c=[1.0, 1.0], uv_index=[np.nan, np.nan])
    hours, notes = finish_hours(twice)
    assert len(hours) == 1
    assert notes == ("1 repeated hours left out",)


@pytest.mark.parametrize(
    ("bad", "word"),
    [
        (frame(["2027-04-18T00"] * 2, air_temperature_c=[1.0, 2.0]), "two different rows"),
        (frame(["2027-04-18T00:30"], air_temperature_c=[1.0]), "off the full hour"),
        (frame(["1971-04-18T00", "2027-04-18T00"], air_temperature_c=[1.0, 2.0]), "1971"),
        (frame([], air_temperature_c=[]), "no hours"),
        (hourly(2, air_temperature_c=[1.0, 2.0]).tz_localize(None), "time zone"),
        (pd.DataFrame({"air_temperature_c": [1.0]}), "time zone"),
        (hourly(1).set_axis(pd.DatetimeIndex([pd.NaT], tz="UTC")), "without a stamp"),
    ],
)
def test_stamps_that_mean_nothing_are_refused(bad: pd.DataFrame, word: str) -> None:
    """Contradicting, off the hour, half a century apart, none at all, no zone, no stamp: each by name."""
    with pytest.raises(UnreadableError, match=word):
        finish_hours(bad)


# --- values --------------------------------------------------------------------------------------------


@given(st.floats(allow_nan=True, allow_infinity=True), st.sampled_from(COLUMNS))
def test_every_value_ends_within_its_bounds_or_missing(value: float, column) -> None:  # type: ignore[no-untyped-def]
    """Believed as it is, set to the bound it is near, or NaN: never anything else."""
    hours, notes = finish_hours(hourly(1, **{column.name: [value]}))
    (got,) = hours[column.name]
    if column.least <= value <= column.most:
        assert got == value
    elif column.name == "native_step_h" and np.isnan(value):
        assert got == 1.0
    elif column.least - column.slack <= value <= column.most + column.slack:
        assert got in (column.least, column.most)
    else:
        assert np.isnan(got)
        assert bool(notes) != np.isnan(value)


def test_humidity_a_little_over_one_is_one() -> None:
    """Humidity of 103 % is saturation; 130 % is no humidity."""
    hours, _ = finish_hours(hourly(2, relative_humidity_frac=[1.03, 1.3]))
    assert hours["relative_humidity_frac"].iloc[0] == 1.0
    assert np.isnan(hours["relative_humidity_frac"].iloc[1])


def test_unknown_columns_do_not_come_through() -> None:
    """The contract has no room for a column of one's own."""
    hours, _ = finish_hours(hourly(1, mood=[1.0]))
    assert tuple(hours.columns) == COLUMN_NAMES


def test_the_frame_that_was_given_stays_as_it_was() -> None:
    """Finishing works on a copy."""
    given_frame = hourly(2, ghi_w_m2=[-1.0, 5.0], wind_speed_m_s=[1.0, 1.0])
    before = given_frame.copy()
    finished(given_frame, ORIGIN, end_labelled=["ghi_w_m2"])
    pd.testing.assert_frame_equal(given_frame, before)


def test_end_labelled_values_move_one_hour_back() -> None:
    """Only the named columns move; the hour before the first stamp is dropped, the last is NaN."""
    moved = shift_end_labelled(
        hourly(3, ghi_w_m2=[1.0, 2.0, 3.0], uv_index=[1.0, 2.0, 3.0]), ["ghi_w_m2", "dni_w_m2"]
    )
    assert moved["ghi_w_m2"].fillna(-99.0).tolist() == [2.0, 3.0, -99.0]
    assert moved["uv_index"].tolist() == [1.0, 2.0, 3.0]


@pytest.mark.parametrize("bad", ["3", True, [], {}, 10**400])
def test_numbers_are_numbers(bad: object) -> None:
    """Text, truth values and lists in a column of numbers are refused by name."""
    with pytest.raises(UnreadableError, match="wind"):
        numbers([0, None, bad], "wind")


def test_null_is_nan_and_zero_is_zero() -> None:
    """The two are never mixed up."""
    assert numbers([0, None, -0.5], "x").tolist() == pytest.approx([0.0, np.nan, -0.5], nan_ok=True)


# --- estimates -----------------------------------------------------------------------------------------


def test_missing_gusts_come_from_the_wind() -> None:
    """1.5 times the mean wind (ours), marked; a known gust is kept."""
    forecast = finished(hourly(3, wind_speed_m_s=[2.0, 4.0, np.nan], wind_gust_m_s=[9.0, np.nan, np.nan]), ORIGIN)
    assert forecast.origin.estimated == ()  # one missing last hour is the edge of an end-labelled column
    forecast = finished(hourly(3, wind_speed_m_s=[2.0, 4.0, 0.0], wind_gust_m_s=[9.0, np.nan, np.nan]), ORIGIN)
    assert forecast.hours["wind_gust_m_s"].tolist() == [9.0, 6.0, 0.0]
    assert forecast.origin.estimated == ("wind_gust_m_s",)


def test_gusts_of_an_unknown_wind_stay_unknown() -> None:
    """No wind, no guess."""
    hours, estimated = fill_estimates(finish_hours(hourly(2, air_temperature_c=[1.0, 2.0]))[0])
    assert hours["wind_gust_m_s"].isna().all()
    assert estimated == ()


def saturated_pa(celsius: float) -> float:
    """Saturated vapour over water, 0 to 200 C: Hyland & Wexler 1983, as ASHRAE prints it."""
    t = celsius + 273.15
    polynomial = -4.8640239e-2 * t + 4.1764768e-5 * t**2 - 1.4452093e-8 * t**3
    return math.exp(-5.8002206e3 / t + 1.3914993 + polynomial + 6.5459673 * math.log(t))


@pytest.mark.parametrize("humidity", [0.3, 0.5, 0.7, 0.9, 1.0])
@outside(
    "ASHRAE Handbook, Fundamentals 2017, chapter 1, equation 6 (Hyland & Wexler 1983), solved for the dew point "
    "by scipy; 9.27 C at 20 C and 50 %",
    "dew point from air and relative humidity, from 0 C up",
    within="0.05 C",
    because="a Magnus form is good to 0.04 C; forecasts have 0.1 C",
)
def test_dew_point_against_the_handbook(humidity: float) -> None:
    """The dew point fills a gap of a reply; no night leans on it."""
    assert saturated_pa(20.0) == pytest.approx(
        2338.8, abs=0.5
    )  # the handbook's table 3 has 2.3389 kPa (from memory)
    for air_c in range(0, 46, 5):
        vapour = humidity * saturated_pa(air_c)
        if vapour >= saturated_pa(0.0):
            dew = optimize.brentq(lambda at_c, pressure=vapour: saturated_pa(at_c) - pressure, -1.0, 50.0)
            compare(float(dew_point_c(pd.Series([float(air_c)]), pd.Series([humidity]))[0]), dew)


@given(st.floats(-40.0, 45.0), st.floats(0.05, 1.0))
def test_dew_point_and_humidity_are_inverse(air: float, humidity: float) -> None:
    """Dew point from humidity gives the humidity back, and lies at or below the air."""
    airs = pd.Series([air])
    dew = pd.Series(dew_point_c(airs, pd.Series([humidity])))
    assert relative_humidity_frac(airs, dew) == pytest.approx([humidity], rel=1e-9)
    assert dew[0] <= air + 1e-9


def test_perfectly_dry_air_has_no_dew_point() -> None:
    """Humidity 0 gives NaN, and no warning."""
    assert np.isnan(dew_point_c(pd.Series([20.0]), pd.Series([0.0]))).all()


# --- the forecast --------------------------------------------------------------------------------------


def test_notes_and_estimates_join_those_of_the_reader() -> None:
    """What the reader said comes first; nothing is said twice."""
    origin = Origin("x", "y", None, None, None, None, estimated=("wind_gust_m_s",), notes=("odd",))
    forecast = finished(hourly(2, wind_speed_m_s=[1.0, 2.0], uv_index=[99.0, 1.0]), origin)
    assert forecast.origin.notes[0] == "odd"
    assert len(forecast.origin.notes) == 2
    assert forecast.origin.estimated == ("wind_gust_m_s",)


def test_members_stand_on_the_same_hours() -> None:
    """Ensemble members are put on the forecast's own index."""
    members = pd.DataFrame({"m1": [1.0]}, index=pd.DatetimeIndex(["2027-04-18T01:00Z"]))
    forecast = finished(hourly(2, air_temperature_c=[0.0, 1.0]), ORIGIN, members_c=members)
    assert forecast.members_c is not None
    assert forecast.members_c.index.equals(forecast.hours.index)
    assert forecast.members_c["m1"].isna().tolist() == [True, False]
