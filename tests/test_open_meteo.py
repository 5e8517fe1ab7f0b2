"""The Open-Meteo reader: what it asks, and every trap of its replies."""

from __future__ import annotations

import copy
import importlib.util
import json
import sys
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pandas as pd
import pytest
from astral import Observer
from astral.sun import noon
from hypothesis import given, settings
from hypothesis import strategies as st

from hardenoff.errors import HardenoffError, NotCoveredError, UnreadableError
from hardenoff.forecast import COLUMN_NAMES, FORECAST, READERS, Forecast
from hardenoff.records import ForecastSettings, Place

FIXTURES = Path(__file__).parents[1] / "fixtures"
FOLDER = FIXTURES / "forecasts" / "open-meteo"
READER = READERS["open-meteo"]
GARDEN = Place("Ferry Lane", 42.93456, -77.31234, 262.7, "America/New_York")

MPS_PER_UNIT = {"m/s": 1.0, "km/h": 1000.0 / 3600.0, "mp/h": 1609.344 / 3600.0, "kn": 1852.0 / 3600.0}
"""Exact by the International System of Units (BIPM, SI Brochure, 9th ed., 2019, table 8) and the 1959 yard."""


def reply(name: str = "old") -> dict[str, Any]:
    """The decoded reply of a situation, four days unless it is `normal`."""
    return dict(json.loads((FOLDER / f"{name}.json").read_text("utf-8")))


def read(document: object, fetched_at: datetime | None = None) -> Forecast:
    body = document if isinstance(document, bytes) else json.dumps(document).encode()
    return READER.parse({FORECAST: body}, fetched_at=fetched_at, headers={})


@cache
def generator() -> ModuleType:
    """The script that writes the fixtures, as a module."""
    spec = importlib.util.spec_from_file_location("make_forecasts", FIXTURES / "make_forecasts.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # where dataclasses look for their own module
    spec.loader.exec_module(module)
    return module


# --- the request ---------------------------------------------------------------------------------------


def query(place: Place = GARDEN, **kwargs: Any) -> dict[str, list[str]]:
    (request,) = READER.requests(place, ForecastSettings(**kwargs), {})
    return parse_qs(urlsplit(request.url).query)


def test_request_avoids_the_traps_of_zone_and_unit() -> None:
    """GMT, Unix time and m/s leave nothing to convert; two days back, sixteen ahead."""
    asked = query()
    assert asked["timezone"] == ["GMT"]
    assert asked["timeformat"] == ["unixtime"]
    assert asked["wind_speed_unit"] == ["ms"]
    assert asked["past_days"] == ["2"]
    assert asked["forecast_days"] == ["16"]
    assert "daily" not in asked


def test_request_names_every_variable_once() -> None:
    """Temperature, radiation, wind, gusts, rain, soil and present weather are asked for, none twice."""
    (names,) = query()["hourly"]
    asked = names.split(",")
    assert len(set(asked)) == len(asked)
    assert {
        "temperature_2m",
        "dew_point_2m",
        "wind_gusts_10m",
        "wind_direction_10m",
        "shortwave_radiation",
        "diffuse_radiation",
        "direct_normal_irradiance",
        "cloud_cover_high",
        "precipitation_probability",
        "soil_temperature_6cm",
        "weather_code",
    } <= set(asked)


def test_request_rounds_the_place() -> None:
    """Two decimals go out; the exact place only if the garden file says so; the height in whole metres."""
    assert (query()["latitude"], query()["longitude"]) == (["42.93"], ["-77.31"])
    assert (query(exact_place=True)["latitude"], query(exact_place=True)["longitude"]) == (
        ["42.9346"],
        ["-77.3123"],
    )
    assert query()["elevation"] == ["263"]


def test_request_without_elevation_leaves_it_to_the_provider() -> None:
    """An unknown height isn't sent as 0; sea level is."""
    assert "elevation" not in query(Place("a", 1.0, 2.0, None, "UTC"))
    assert query(Place("a", 1.0, 2.0, 0.0, "UTC"))["elevation"] == ["0"]


def test_one_request_is_enough() -> None:
    """With the forecast answered, nothing that a forecast can't be without is left to ask."""
    first = READER.requests(GARDEN, ForecastSettings(), {})
    left = READER.requests(GARDEN, ForecastSettings(), {FORECAST: b"{}"})
    assert FORECAST in [request.role for request in first if not request.optional]
    assert FORECAST not in [request.role for request in left]
    assert all(request.optional for request in left)


# --- time ----------------------------------------------------------------------------------------------


def test_first_and_last_hour_are_those_of_the_reply() -> None:
    """The stamps of instantaneous values stay; the hour before the first one is not invented."""
    document = reply("normal")
    hours = read(document).hours
    assert len(hours) == len(document["hourly"]["time"]) == 18 * 24
    assert hours.index[0].timestamp() == document["hourly"]["time"][0]
    assert hours.index[-1].timestamp() == document["hourly"]["time"][-1]


def test_means_sums_and_maxima_move_to_the_start_of_their_hour() -> None:
    """The value stamped 13:00 covers 12 to 13 and stands at 12:00; temperature and wind stay where they are."""
    document = reply()
    hours = read(document).hours
    for name, column in (
        ("shortwave_radiation", "ghi_w_m2"),
        ("direct_normal_irradiance", "dni_w_m2"),
        ("diffuse_radiation", "dhi_w_m2"),
        ("precipitation", "precipitation_mm"),
        ("wind_gusts_10m", "wind_gust_m_s"),
        ("et0_fao_evapotranspiration", "et0_mm"),
    ):
        assert hours[column].iloc[:-1].tolist() == document["hourly"][name][1:], name
        assert np.isnan(hours[column].iloc[-1]), name
    chance = [percent / 100 for percent in document["hourly"]["precipitation_probability"]]
    assert hours["precipitation_probability_frac"].iloc[:-1].tolist() == pytest.approx(chance[1:])


def test_instantaneous_values_stay_at_their_stamp() -> None:
    """Temperature, wind and UV index are of the moment they are stamped with."""
    document = reply()
    hours = read(document).hours
    for name, column in (
        ("temperature_2m", "air_temperature_c"),
        ("wind_speed_10m", "wind_speed_m_s"),
        ("uv_index", "uv_index"),
    ):
        assert hours[column].tolist() == document["hourly"][name], name


def test_clear_days_peak_at_solar_noon() -> None:
    """Under a clear sky radiation is symmetric about solar noon (astral's), to 3 minutes."""
    ghi = read(reply("zero-degrees")).hours["ghi_w_m2"]
    for day in (datetime(2027, 4, 3, tzinfo=UTC).date(), datetime(2027, 4, 4, tzinfo=UTC).date()):
        middle = noon(Observer(42.94, -77.33), date=day, tzinfo=UTC)
        around = ghi[middle - timedelta(hours=11) : middle + timedelta(hours=11)]
        minutes = (around.index - pd.Timestamp(middle)).total_seconds().to_numpy() / 60.0 + 30.0
        assert np.average(minutes, weights=around.to_numpy()) == pytest.approx(0.0, abs=3.0)


@pytest.mark.parametrize("offset_h", [-10, -5, 0, 1, 2, 13])
def test_local_stamps_lose_the_offset_that_the_reply_states(offset_h: int) -> None:
    """ISO stamps at any whole offset give the same hours as Unix time."""
    plain = read(reply()).hours
    local = generator().in_zone(reply(), timedelta(hours=offset_h), "Etc/Somewhere", "X")
    pd.testing.assert_frame_equal(read(local).hours, plain)


def test_one_offset_holds_on_both_sides_of_a_clock_change() -> None:
    """The whole reply stands at the offset of its request day, so no local hour is skipped or doubled."""
    document = reply("clock-change")
    assert "2027-03-28T02:00" in document["hourly"]["time"]  # an hour that clocks in Berlin never showed
    hours = read(document).hours
    assert hours.index[0] == pd.Timestamp("2027-03-26T23:00Z")
    assert (
        hours.loc["2027-03-28T01:00Z", "air_temperature_c"]
        == (document["hourly"]["temperature_2m"][document["hourly"]["time"].index("2027-03-28T02:00")])
    )


@pytest.mark.parametrize(("offset_s", "cut_s"), [(19800, 18000), (20700, 18000), (-12600, -10800), (31500, 28800)])
def test_zones_off_the_full_hour_are_put_back(offset_s: int, cut_s: int) -> None:
    """India, Nepal, Newfoundland, Eucla: data of the cut offset, printed at the exact one; put back, with a note.

    Behaviour read in the provider's public source code (open-meteo/open-meteo, 2026).
    """
    document = reply()
    true_utc = [datetime.fromtimestamp(second, UTC) for second in document["hourly"]["time"]]
    document["hourly"]["time"] = [f"{stamp + timedelta(seconds=cut_s):%Y-%m-%dT%H:%M}" for stamp in true_utc]
    document["hourly_units"]["time"] = "iso8601"
    document["utc_offset_seconds"], document["timezone"] = offset_s, "Etc/Half"
    forecast = read(document)
    assert forecast.hours.index[0] == true_utc[0]
    assert any("off the full hour" in note for note in forecast.origin.notes)


def test_full_hours_of_utc_are_believed_in_any_zone() -> None:
    """Where the stamps are full hours of UTC already there is no misprint to undo."""
    document = {**reply(), "utc_offset_seconds": 19800, "timezone": "Asia/Kolkata"}
    forecast = read(document)
    pd.testing.assert_frame_equal(forecast.hours, read(reply()).hours)
    assert forecast.origin.notes == ()


def test_milliseconds_are_named() -> None:
    """Unix milliseconds taken as seconds would be the year 59000: a fault of the data, not of the program."""
    document = reply()
    document["hourly"]["time"] = [second * 1000 for second in document["hourly"]["time"]]
    with pytest.raises(UnreadableError, match=r"hourly\.time runs from the year 59"):
        read(document)


def test_an_hour_without_a_stamp_is_named() -> None:
    """A null among the stamps is said to be one."""
    document = reply()
    document["hourly"]["time"][7] = None
    with pytest.raises(UnreadableError, match="an hour without a stamp"):
        read(document)


def test_local_stamps_without_their_offset_are_refused() -> None:
    """Nobody guesses the offset of a zone."""
    document = generator().in_zone(reply(), timedelta(hours=2), "Europe/Berlin", "GMT+2")
    del document["utc_offset_seconds"]
    with pytest.raises(UnreadableError, match="utc_offset_seconds"):
        read(document)


@pytest.mark.parametrize(
    "bad", [None, "yesterday", True, {}, 1.0e18, 10**400, "2027-04-18T00:17", "2027-04-18T00:00+02:00"]
)
def test_a_bad_stamp_is_refused(bad: object) -> None:
    """One stamp that is no full hour makes the reply unreadable: the rows behind it could be any hour's."""
    document = reply()
    document["hourly"]["time"][7] = bad
    with pytest.raises(UnreadableError):
        read(document)


def test_hours_out_of_order_are_sorted() -> None:
    """Rows may come in any order."""
    document = reply()
    for values in document["hourly"].values():
        values.reverse()
    pd.testing.assert_frame_equal(read(document).hours, read(reply()).hours)


def test_a_repeated_hour_counts_once_if_it_says_the_same() -> None:
    """The same row twice is dropped with a note; two rows that disagree are refused."""
    document = reply()
    for values in document["hourly"].values():
        values.append(values[-1])
    assert any("repeated" in note for note in read(document).origin.notes)
    document["hourly"]["precipitation"][-1] = 3.5
    with pytest.raises(UnreadableError, match="two different rows"):
        read(document)


def test_step_of_the_models_grows_with_lead_time() -> None:
    """Far hours are interpolated from 3- and 6-hourly steps and say so (limits ours)."""
    steps = read(reply("normal"), fetched_at=datetime(2027, 4, 20, 6, tzinfo=UTC)).hours["native_step_h"]
    assert steps.loc["2027-04-18T00:00Z"] == 1.0
    assert steps.loc["2027-04-23T06:00Z"] == 1.0
    assert steps.loc["2027-04-23T07:00Z"] == 3.0
    assert steps.loc["2027-04-26T07:00Z"] == 6.0


def test_origin_is_the_grid_cell_that_answered() -> None:
    """Coordinates and height are the reply's, not the garden's; it doesn't say when the models ran."""
    origin = read(reply()).origin
    assert (origin.latitude, origin.longitude, origin.elevation_m) == (42.94, -77.33, 263.0)
    assert origin.issued_at is None
    assert "CC BY 4.0" in origin.attribution


# --- units and names -----------------------------------------------------------------------------------


@given(
    temperature=st.sampled_from(["°C", "°F"]),
    speed=st.sampled_from(sorted(MPS_PER_UNIT)),
    depth=st.sampled_from(["mm", "inch"]),
    names=st.sampled_from(["today", "old"]),
)
@settings(deadline=None, max_examples=16)
def test_units_and_names_change_nothing(temperature: str, speed: str, depth: str, names: str) -> None:
    """Whatever units and generation of names a reply was asked for in, the hours are the same."""
    document = reply("zero-degrees")
    for name, unit in document["hourly_units"].items():
        values = document["hourly"][name]
        if unit == "°C" and temperature == "°F":
            document["hourly_units"][name], document["hourly"][name] = "°F", [t * 9 / 5 + 32 for t in values]
        if unit == "m/s":
            document["hourly_units"][name] = speed
            document["hourly"][name] = [v / MPS_PER_UNIT[speed] for v in values]
        if unit == "mm" and depth == "inch":
            document["hourly_units"][name], document["hourly"][name] = "inch", [d / 25.4 for d in values]
    if names == "old":
        old = generator().OLD_NAMES
        for block in ("hourly_units", "hourly"):
            document[block] = {old.get(name, name): value for name, value in document[block].items()}
    pd.testing.assert_frame_equal(read(document).hours, read(reply("zero-degrees")).hours, rtol=1e-12, atol=1e-12)


def test_shares_are_fractions() -> None:
    """Percent becomes 0 to 1."""
    document = reply()
    hours = read(document).hours
    assert hours["relative_humidity_frac"].iloc[5] == pytest.approx(
        document["hourly"]["relative_humidity_2m"][5] / 100
    )
    assert hours["cloud_cover_frac"].max() <= 1.0


def test_old_names_in_km_h_are_read() -> None:
    """A reply of before November 2023, wind in km/h, gives the wind in m/s to its printed digit."""
    now = read({**reply("normal")}).hours["wind_speed_m_s"].iloc[:96].to_numpy()
    then = read(reply("old-names")).hours["wind_speed_m_s"].to_numpy()
    assert then == pytest.approx(now, abs=0.05 / 3.6 + 1e-9)


@pytest.mark.parametrize(
    ("name", "unit"),
    [("temperature_2m", "K"), ("wind_speed_10m", "bft"), ("shortwave_radiation", "MJ/m²"), ("cloud_cover", 1)],
)
def test_a_wrong_unit_is_refused_by_name(name: str, unit: object) -> None:
    """An unknown unit is never guessed at."""
    document = reply()
    document["hourly_units"][name] = unit
    with pytest.raises(UnreadableError, match=name):
        read(document)


def test_a_missing_unit_is_taken_from_its_kind() -> None:
    """Without a unit of its own the gust is in the unit of the wind beside it, with a note."""
    document = reply("old-names")
    del document["hourly_units"]["windgusts_10m"]
    forecast = read(document)
    pd.testing.assert_frame_equal(forecast.hours, read(reply("old-names")).hours)
    assert any("wind_gusts_10m: no unit stated, taken as km/h" in note for note in forecast.origin.notes)


def test_missing_units_are_those_we_ask_for() -> None:
    """A reply without any unit is read in the units of our own request, with notes."""
    document = reply()
    del document["hourly_units"]
    forecast = read(document)
    pd.testing.assert_frame_equal(forecast.hours, read(reply()).hours)
    assert any("temperature_2m: no unit stated" in note for note in forecast.origin.notes)


def test_a_unit_of_no_kind_is_refused_also_beside_a_missing_one() -> None:
    """A unit that is no text at all is refused by its own name, not by Python."""
    document = reply()
    document["hourly_units"]["dew_point_2m"] = {"a": 1}
    del document["hourly_units"]["temperature_2m"]
    with pytest.raises(UnreadableError, match="dew_point_2m comes in"):
        read(document)


# --- what is missing -----------------------------------------------------------------------------------


def test_null_tail_is_nan_in_every_column() -> None:
    """The nulls at the end stay missing, in sums an hour longer; their steps are still known."""
    hours = read(reply("nulls")).hours
    assert hours.drop(columns="native_step_h").iloc[-9:].isna().all(axis=None)
    assert hours["air_temperature_c"].iloc[-10:-9].notna().all()
    assert np.isnan(hours["ghi_w_m2"].iloc[-10])


def test_null_hours_are_nan_and_nothing_else_is() -> None:
    """A hole of three hours is three hours of NaN."""
    air = read(reply("nulls")).hours["air_temperature_c"].iloc[:-9]
    assert np.flatnonzero(air.isna()).tolist() == [5, 6, 7]


def test_a_column_null_throughout_is_noted() -> None:
    """It is there, and says nothing."""
    forecast = read(reply("nulls"))
    assert forecast.hours["uv_index"].isna().all()
    assert any(note.startswith("uv_index: null in every hour") for note in forecast.origin.notes)


def test_all_null_temperature_is_a_forecast_of_unknown_nights() -> None:
    """Not an error: the hours are there, and every temperature is unknown, with a note."""
    document = reply()
    document["hourly"]["temperature_2m"] = [None] * 96
    forecast = read(document)
    assert forecast.hours["air_temperature_c"].isna().all()
    assert any("temperature_2m: null in every hour" in note for note in forecast.origin.notes)


def test_an_undefined_unit_drops_the_column() -> None:
    """Unit "undefined" means that the provider doesn't know the variable here; its values are not believed."""
    document = reply("undefined-unit")
    document["hourly"]["soil_temperature_6cm"] = [7.0] * 96
    forecast = read(document)
    assert forecast.hours["soil_temperature_c"].isna().all()
    assert any("soil_temperature_6cm" in note and "undefined" in note for note in forecast.origin.notes)


def test_bare_nan_is_missing() -> None:
    """`nan`, which JSON forbids and the provider writes at the edge of a model, is NaN; the rest is read."""
    body = (FOLDER / "bare-nan.json").read_bytes()
    assert b"nan" in body
    forecast = read(body)
    assert forecast.origin.elevation_m is None
    assert forecast.hours["cloud_high_frac"].isna().sum() == 1
    assert forecast.hours["air_temperature_c"].notna().all()


def test_missing_gusts_are_estimated_and_marked() -> None:
    """No gusts in the reply: 1.5 times the wind (ours), marked; radiation stays missing."""
    forecast = read(reply("missing-column"))
    hours = forecast.hours
    assert hours["wind_gust_m_s"].tolist() == pytest.approx((1.5 * hours["wind_speed_m_s"]).tolist())
    assert set(forecast.origin.estimated) == {"wind_gust_m_s", "dew_point_c"}
    assert hours["ghi_w_m2"].isna().all()


def test_no_temperature_column_is_refused_with_the_columns_needed() -> None:
    """Without air temperature there is no forecast for plants; the message says what to ask for."""
    document = reply()
    del document["hourly"]["temperature_2m"]
    with pytest.raises(UnreadableError) as caught:
        read(document)
    assert "hourly=temperature_2m" in caught.value.expected
    assert "shortwave_radiation" in caught.value.expected


def test_night_radiation_a_little_below_zero_is_zero() -> None:
    """-0.2 W/m2 at night is interpolation; -40 is no measurement of anything and becomes NaN with a note."""
    document = reply()
    document["hourly"]["shortwave_radiation"][3:5] = [-0.2, -40.0]
    forecast = read(document)
    assert forecast.hours["ghi_w_m2"].iloc[2] == 0.0
    assert np.isnan(forecast.hours["ghi_w_m2"].iloc[3])
    assert any(note.startswith("ghi_w_m2: 1 of 96 hours outside") for note in forecast.origin.notes)


@pytest.mark.parametrize("bad", [None, "north", True, 10**400, 1e300, float("inf"), [], {}])
def test_a_place_that_is_no_number_is_no_place(bad: object) -> None:
    """The hours are read; where they are for is unknown."""
    forecast = read({**reply(), "latitude": bad, "elevation": bad})
    assert forecast.origin.latitude is None
    assert forecast.origin.elevation_m is None
    assert len(forecast.hours) == 96


def test_an_impossible_temperature_is_missing_and_noted() -> None:
    """999 is somebody's mark for missing, and never a heat wave."""
    document = reply()
    document["hourly"]["temperature_2m"][0] = 999
    forecast = read(document)
    assert np.isnan(forecast.hours["air_temperature_c"].iloc[0])
    assert any("air_temperature_c" in note for note in forecast.origin.notes)


# --- replies that are no forecast ----------------------------------------------------------------------


def test_an_error_reply_is_quoted() -> None:
    """The provider's reason stands in the message."""
    with pytest.raises(UnreadableError, match="Minutely API request limit exceeded"):
        read(reply("error"))


def test_a_place_without_data_is_told_from_an_outage() -> None:
    """Not covered is no reason to try again."""
    with pytest.raises(NotCoveredError):
        read({"error": True, "reason": "No data is available for this location"})


def test_an_error_mark_beside_data_counts() -> None:
    """A reply that calls itself an error is one, whatever else it holds."""
    with pytest.raises(UnreadableError, match="error"):
        read({**reply(), "error": True})


def test_a_list_of_one_place_is_read_and_of_two_refused() -> None:
    """Several coordinates give a list; only the garden's own may be in it."""
    pd.testing.assert_frame_equal(read([reply()]).hours, read(reply()).hours)
    with pytest.raises(UnreadableError, match="a list of 2 places"):
        read([reply(), reply()])


@pytest.mark.parametrize(
    "document",
    [
        {},
        [],
        [1],
        {"hourly": None},
        {"hourly": []},
        {"hourly": {}},
        {"hourly": {"time": [], "temperature_2m": []}},
        {"hourly": {"time": 7, "temperature_2m": [1.0]}},
        {"hourly": {"time": [1808006400], "temperature_2m": 1.0}},
        {"hourly": {"time": [1808006400], "temperature_2m": ["1.0"]}},
        {"hourly": {"time": [1808006400], "temperature_2m": [True]}},
        {"daily": {"time": ["2027-04-18"], "temperature_2m_min": [3.0]}},
        {"hourly": {"time": [0, 1808006400], "temperature_2m": [1.0, 2.0]}},
    ],
)
def test_a_malformed_reply_is_refused(document: object) -> None:
    """No hours, no lists, text for numbers, stamps half a century apart."""
    with pytest.raises(UnreadableError):
        read(document)


def test_columns_of_different_length_are_refused_by_name() -> None:
    """A column that is one value short could belong to any hours."""
    document = reply()
    document["hourly"]["cloud_cover"].pop()
    with pytest.raises(UnreadableError, match="cloud_cover has 95 values for 96 hours"):
        read(document)


def test_one_hour_is_a_forecast() -> None:
    """The least reply that says something."""
    hours = read({"hourly": {"time": [1808006400], "temperature_2m": [0]}}).hours
    assert hours["air_temperature_c"].tolist() == [0.0]


WHOLE = (FOLDER / "old.json").read_bytes()


@given(cut=st.integers(min_value=0, max_value=len(WHOLE) - 1))
@settings(deadline=None, max_examples=60)
def test_a_reply_cut_anywhere_is_refused(cut: int) -> None:
    """A transfer that broke off is never half a forecast."""
    with pytest.raises(UnreadableError):
        read(WHOLE[:cut])


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@given(data=st.data(), junk=JSON)
@settings(deadline=None, max_examples=150)
def test_junk_anywhere_is_read_or_refused_by_name(data: st.DataObject, junk: Any) -> None:
    """Whatever stands in place of any part of a reply: hours by the contract, or an error of ours."""
    document = copy.deepcopy(SMALL)
    block = document
    while True:
        key = data.draw(st.sampled_from(sorted(block) if isinstance(block, dict) else range(len(block))))
        if not isinstance(block[key], dict | list) or data.draw(st.booleans()):
            break
        block = block[key]
    block[key] = junk
    try:
        hours = read(document).hours
    except HardenoffError:
        return
    assert tuple(hours.columns) == COLUMN_NAMES


SMALL: Any = reply()
SMALL["hourly"] = {name: values[:6] for name, values in SMALL["hourly"].items()}


# --- the fixtures --------------------------------------------------------------------------------------


def test_fixtures_are_what_their_script_writes(tmp_path: Path) -> None:
    """Nobody edits an invented reply by hand."""
    generator().main(tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in FOLDER.iterdir()}
    for path in tmp_path.iterdir():
        assert path.read_bytes() == (FOLDER / path.name).read_bytes(), path.name


def test_fixture_radiation_adds_up() -> None:
    """Global is beam on the level plus sky, hour by hour: what falls on a sunlit level is never over it all."""
    hours = read(reply("normal")).hours.dropna(subset=["ghi_w_m2"])
    assert (hours["dhi_w_m2"] <= hours["ghi_w_m2"] + 0.11).all()
    assert (hours["ghi_w_m2"] - hours["dhi_w_m2"] <= hours["dni_w_m2"] + 0.11).all()
