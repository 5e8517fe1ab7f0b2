"""MET Norway: steps of one and six hours, minima that instants miss, periods that run out."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from validation import compare, outside

from hardenoff.errors import UnreadableError
from hardenoff.forecast.hours import Forecast
from hardenoff.forecast.met_norway import READER
from hardenoff.forecast.met_steps import fill_between
from hardenoff.forecast.open_meteo import READER as OPEN_METEO
from hardenoff.forecast.reader import FORECAST
from hardenoff.records import ForecastSettings, Place

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts"
START = pd.Timestamp("2027-04-18T00:00Z")
HOUR = pd.Timedelta(hours=1)
HOURLY = 66
"""Steps of one hour in the fixtures; six-hour steps from there."""

Series = list[dict[str, Any]]


def body(name: str) -> bytes:
    return (FOLDER / "met-norway" / f"{name}.json").read_bytes()


def read(data: bytes) -> Forecast:
    return READER.parse({FORECAST: data}, fetched_at=None, headers={})


def changed(change: Callable[[Series], object], name: str = "normal") -> Forecast:
    document = json.loads(body(name))
    change(document["properties"]["timeseries"])
    return read(json.dumps(document).encode())


def step(hour: int, *, air: float | None, low: float | None = None, **details: float) -> dict[str, Any]:
    """A step so many hours after START."""
    data: dict[str, Any] = {"instant": {"details": {"air_temperature": air, **details}}}
    if low is not None:
        data["next_6_hours"] = {"summary": {}, "details": {"air_temperature_min": low}}
    return {"time": f"{START + hour * HOUR:%Y-%m-%dT%H:%M:%SZ}", "data": data}


def steps(*given: dict[str, Any]) -> Forecast:
    """A reply of these steps alone."""
    return read(json.dumps({"type": "Feature", "properties": {"meta": {}, "timeseries": list(given)}}).encode())


# --- steps ----------------------------------------------------------------------------------------------


def test_hours_run_from_the_first_step_to_the_last() -> None:
    """66 steps of one hour and 27 of six are 223 hours; the last one is the last instant's."""
    hours = read(body("normal")).hours
    assert (len(hours), hours.index[0], hours.index[-1]) == (223, START, START + 222 * HOUR)


def test_native_step_tells_where_it_gets_coarse() -> None:
    """One hour, then six, from the step at which the reply changes."""
    native = read(body("normal")).hours["native_step_h"]
    assert native.iloc[:HOURLY].eq(1.0).all()
    assert native.iloc[HOURLY:].eq(6.0).all()


def test_instants_are_kept_to_the_digit() -> None:
    """At a step's own hour the value is the provider's."""
    series = json.loads(body("normal"))["properties"]["timeseries"]
    air = read(body("normal")).hours["air_temperature_c"]
    for one in series:
        assert air[pd.Timestamp(one["time"])] == one["data"]["instant"]["details"]["air_temperature"]


def test_hours_between_instants_are_on_the_line() -> None:
    """Inside a step of six hours: 4 to 10 degC is a degree an hour."""
    air = steps(step(0, air=4.0), step(6, air=10.0)).hours["air_temperature_c"]
    assert air.tolist() == pytest.approx([4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0])


def test_bearing_turns_by_the_shorter_arc() -> None:
    """From 350 to 20 degrees through north: never through south."""
    forecast = steps(
        step(0, air=1.0, wind_from_direction=350.0),
        step(6, air=1.0, wind_from_direction=20.0),
    )
    assert forecast.hours["wind_from_deg"].tolist() == pytest.approx([350, 355, 0, 5, 10, 15, 20])


@given(st.floats(0.0, 360.0, exclude_max=True), st.floats(-179.0, 179.0), st.floats(0.0, 359.0))
def test_turning_the_compass_turns_the_answer(start: float, turn: float, by: float) -> None:
    """Bearings between are the same arc wherever north is, and stay within 0 to 360."""
    index = pd.date_range(START, periods=7, freq="h")
    stamps = [index[0], index[-1]]
    plain = fill_between(stamps, np.array([start, (start + turn) % 360.0]), index, circular=True)
    turned = fill_between(
        stamps, np.array([(start + by) % 360.0, (start + turn + by) % 360.0]), index, circular=True
    )
    apart = (turned - plain - by + 180.0) % 360.0 - 180.0
    assert np.abs(apart).max() < 1e-6
    assert ((plain >= 0.0) & (plain <= 360.0)).all()


def test_missing_instant_is_not_bridged() -> None:
    """A null between two six-hour steps leaves both of them unknown, not a line over twelve hours."""
    air = steps(step(0, air=4.0), step(6, air=None), step(12, air=10.0)).hours["air_temperature_c"]
    assert air.notna().tolist() == [True] + 11 * [False] + [True]


def test_longer_gap_is_a_hole() -> None:
    """More than six hours between steps is a lost step."""
    air = steps(step(0, air=4.0), step(12, air=10.0)).hours["air_temperature_c"]
    assert air.notna().sum() == 2


def test_order_of_steps_does_not_matter() -> None:
    """Steps are put in order of time."""
    shuffled = changed(lambda series: series.reverse())
    pd.testing.assert_frame_equal(shuffled.hours, read(body("normal")).hours)


def test_step_without_a_time_is_left_out_and_counted() -> None:
    """Its hour lies on the line between its neighbours, and the notes say so."""
    forecast = changed(lambda series: series[3].update(time=None))
    assert any(note.startswith("1 of 93 steps") for note in forecast.origin.notes)
    assert len(forecast.hours) == 223


# --- minima ---------------------------------------------------------------------------------------------


def test_minimum_of_the_block_is_not_lost_between_instants() -> None:
    """4 and 5 degC at the ends, 1 degC somewhere between: each hour may be the one, and none is warmer."""
    forecast = steps(step(0, air=4.0, low=1.0), step(6, air=5.0))
    assert forecast.hours["air_temperature_min_c"].iloc[:6].tolist() == [1.0] * 6
    assert forecast.hours["air_temperature_c"].iloc[0] == 4.0


def test_minimum_at_the_end_of_a_block_chills_no_other_hour() -> None:
    """Where the line itself reaches the block's minimum, a warm evening stays warm."""
    lows = steps(step(0, air=14.0, low=2.0), step(6, air=2.0)).hours["air_temperature_min_c"]
    assert lows.iloc[:6].tolist() == pytest.approx([12.0, 10.0, 8.0, 6.0, 4.0, 2.0])


def test_minimum_without_its_instants_still_counts() -> None:
    """The instants may be null while the block's minimum is known."""
    lows = steps(step(0, air=None, low=-1.0), step(6, air=5.0)).hours["air_temperature_min_c"]
    assert lows.iloc[:6].eq(-1.0).all()


def test_hourly_steps_take_the_colder_of_their_ends() -> None:
    """In the hourly part the six-hour minimum belongs to no single hour and stays a block low."""
    forecast = steps(step(0, air=4.0, low=0.5), step(1, air=3.0), step(2, air=5.0))
    assert forecast.hours["air_temperature_min_c"].iloc[:2].tolist() == [3.0, 3.0]
    assert forecast.block_lows["min_c"].tolist() == [0.5]


@settings(max_examples=40, deadline=None)
@given(st.floats(-10.0, 20.0), st.floats(-10.0, 20.0), st.floats(-15.0, 20.0))
def test_block_is_as_cold_as_the_coldest_thing_said(first: float, last: float, low: float) -> None:
    """The least hour of a block is its minimum, unless an instant contradicts it downwards."""
    lows = steps(step(0, air=first, low=low), step(6, air=last)).hours["air_temperature_min_c"]
    assert lows.iloc[:6].min() == pytest.approx(min(first, last, low))


def test_block_lows_are_those_of_the_reply() -> None:
    """Start, six hours, minimum, from every step that gives one."""
    series = json.loads(body("normal"))["properties"]["timeseries"]
    delivered = [
        one["data"]["next_6_hours"]["details"]["air_temperature_min"]
        for one in series
        if "next_6_hours" in one["data"]
    ]
    lows = read(body("normal")).block_lows
    assert lows["min_c"].tolist() == delivered
    assert (lows["end"] - lows["start"]).eq(6 * HOUR).all()


def test_coarse_nights_are_as_cold_as_the_same_nights_by_the_hour() -> None:
    """The tail's hours reach the low that another provider tells of the same weather hour by hour.

    Instants alone miss it: on the coldest of these nights by over 0.2 K.
    """
    coarse = read(body("normal")).hours
    source = (FOLDER / "open-meteo" / "normal.json").read_bytes()
    fine = OPEN_METEO.parse({FORECAST: source}, fetched_at=None, headers={}).hours["air_temperature_c"]
    missed = []
    for day in range(3, 9):
        night = slice(START + (24 * day + 6) * HOUR, START + (24 * day + 12) * HOUR)
        assert coarse["air_temperature_min_c"][night].min() <= fine[night].min()
        missed.append(coarse["air_temperature_c"][night].min() - fine[night].min())
    assert max(missed) > 0.2


# --- periods --------------------------------------------------------------------------------------------


def rain(hour: int, *, one: float | None = None, six: float | None = None) -> dict[str, Any]:
    made = step(hour, air=5.0)
    for period, amount in (("next_1_hours", one), ("next_6_hours", six)):
        if amount is not None:
            made["data"][period] = {"summary": {}, "details": {"precipitation_amount": amount}}
    return made


def test_rain_of_six_hours_is_spread() -> None:
    """6 mm in six hours is 1 mm in each."""
    hours = steps(rain(0, six=6.0), rain(6, six=0.0), rain(12)).hours["precipitation_mm"]
    assert hours.iloc[:12].tolist() == pytest.approx([1.0] * 6 + [0.0] * 6)


def test_rain_of_six_hours_counts_for_the_step_alone() -> None:
    """Where the next step comes after three hours, half of the six-hour total is the step's own."""
    hours = steps(rain(0, six=6.0), rain(3, six=0.0), rain(9)).hours["precipitation_mm"]
    assert hours.iloc[:9].tolist() == pytest.approx([1.0] * 3 + [0.0] * 6)


def test_rain_of_the_hour_wins_over_that_of_six() -> None:
    """Where both are given, the six-hour total of every hour would count each hour six times."""
    hours = steps(rain(0, one=2.0, six=6.0), rain(1, one=0.0, six=4.0), rain(2)).hours["precipitation_mm"]
    assert hours.iloc[:2].tolist() == [2.0, 0.0]


def test_rain_past_the_last_period_is_unknown() -> None:
    """The last steps have instants and no period: NaN, not dry."""
    hours = read(body("normal")).hours
    assert np.isnan(hours["precipitation_mm"].iloc[-1])
    assert hours["air_temperature_c"].notna().iloc[-1]


def test_rain_adds_up_to_what_another_provider_says() -> None:
    """The same weather: the totals of both agree, so the periods are neither shifted nor doubled."""
    ours = read(body("normal")).hours["precipitation_mm"]
    source = (FOLDER / "open-meteo" / "normal.json").read_bytes()
    theirs = OPEN_METEO.parse({FORECAST: source}, fetched_at=None, headers={}).hours["precipitation_mm"]
    assert ours.sum() > 1.0
    assert ours.sum() == pytest.approx(theirs.reindex(ours.dropna().index).sum(), abs=0.05)


@outside(
    "WMO-No. 306, code table 4677: 95 thunderstorm (from memory)",
    "weather code of MET Norway's `rainandthunder` and `fair_day`",
    within="equal",
    because="a code",
)
def test_thunder_is_in_the_symbol() -> None:
    """For as long as the step lasts; a fair day is no weather."""
    made = rain(0, six=6.0)
    made["data"]["next_6_hours"]["summary"]["symbol_code"] = "rainandthunder"
    after = rain(6, six=0.0)
    after["data"]["next_6_hours"]["summary"]["symbol_code"] = "fair_day"
    codes = steps(made, after, rain(12)).hours["weather_code"]
    compare(codes.iloc[:12].tolist(), [95.0] * 6 + [0.0] * 6)
    assert np.isnan(codes.iloc[12])


def test_chance_of_rain_is_there_where_the_region_has_it() -> None:
    """Nordic replies have it, others do not: NaN, never 0."""
    assert read(body("polar-day")).hours["precipitation_probability_frac"].notna().mean() > 0.8
    assert read(body("normal")).hours["precipitation_probability_frac"].isna().all()


# --- columns and origin ---------------------------------------------------------------------------------


def test_gusts_are_given_or_marked_as_estimated() -> None:
    """Gusts come for some regions only; elsewhere they are our estimate, and marked."""
    assert "wind_gust_m_s" not in read(body("polar-day")).origin.estimated
    assert "wind_gust_m_s" in read(body("normal")).origin.estimated


@pytest.mark.parametrize(
    ("name", "column", "ours"),
    [
        ("air_temperature", "air_temperature_c", 40.0),
        ("dew_point_temperature", "dew_point_c", 40.0),
        ("relative_humidity", "relative_humidity_frac", 0.4),
        ("wind_speed", "wind_speed_m_s", 40.0),
        ("wind_speed_of_gust", "wind_gust_m_s", 40.0),
        ("wind_from_direction", "wind_from_deg", 40.0),
        ("cloud_area_fraction", "cloud_cover_frac", 0.4),
        ("cloud_area_fraction_low", "cloud_low_frac", 0.4),
        ("cloud_area_fraction_medium", "cloud_mid_frac", 0.4),
        ("cloud_area_fraction_high", "cloud_high_frac", 0.4),
    ],
)
def test_detail_goes_into_its_column_in_its_unit(name: str, column: str, ours: float) -> None:
    """The provider's 40, of whatever, in our unit: percent become fractions, the rest stays."""
    hours = steps(step(0, air=9.0, **{name: 40.0})).hours
    assert hours[column].iloc[0] == pytest.approx(ours)


def test_dew_point_is_never_above_the_air() -> None:
    """Interpolation keeps what physics demands of both."""
    hours = read(body("normal")).hours
    assert (hours["dew_point_c"] <= hours["air_temperature_c"] + 1e-9).all()


def test_clear_sky_uv_is_not_taken_for_uv() -> None:
    """The provider's UV index ignores cloud; ours does not, so it stays unknown."""
    assert read(body("normal")).hours["uv_index"].isna().all()


def test_point_elevation_and_issue_time_are_told() -> None:
    """GeoJSON says longitude first; `updated_at` is when the forecast was made."""
    origin = read(body("normal")).origin
    assert (origin.latitude, origin.longitude, origin.elevation_m) == (42.94, -77.33, 263.0)
    assert origin.issued_at == datetime(2027, 4, 18, 0, 17, tzinfo=UTC)


def test_another_unit_is_refused() -> None:
    """`meta.units` is read: wind in km/h would be 3.6 times too strong."""
    document = json.loads(body("normal"))
    document["properties"]["meta"]["units"]["wind_speed"] = "km/h"
    with pytest.raises(UnreadableError, match="wind_speed comes in 'km/h'"):
        read(json.dumps(document).encode())


@pytest.mark.parametrize("series", [[], [{"data": {}}], [{"time": "soon"}]])
def test_no_step_is_no_forecast(series: Series) -> None:
    """Without a single time there is nothing to read."""
    with pytest.raises(UnreadableError, match="no time steps"):
        read(json.dumps({"properties": {"timeseries": series}}).encode())


def test_steps_years_apart_are_refused() -> None:
    """One wrong year would make a frame of a hundred thousand empty hours."""
    with pytest.raises(UnreadableError, match="2027-04-18 to 2028"):
        changed(lambda series: series[-1].update(time="2028-04-18T00:00:00Z"))


def test_request_asks_for_the_garden_s_height() -> None:
    """Whole metres, which the provider's temperature is corrected for; without it, the model's own."""
    place = Place("Gorham", 42.94, -77.3, 263.4, "America/New_York")
    (request,) = READER.requests(place, ForecastSettings(), {})
    assert request.url == (
        "https://api.met.no/weatherapi/locationforecast/2.0/complete?lat=42.94&lon=-77.3&altitude=263"
    )
    (without,) = READER.requests(Place("", 42.94, -77.3, None, "UTC"), ForecastSettings(), {})
    assert "altitude" not in without.url
    assert READER.requests(place, ForecastSettings(), {FORECAST: b"{}"}) == ()
