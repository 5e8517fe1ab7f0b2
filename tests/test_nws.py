"""US National Weather Service: traps of the raw grid, its discovery, and its ways of saying no."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from validation import compare, outside

from hardenoff.errors import NotCoveredError, UnreadableError
from hardenoff.forecast.alerts import ALERTS
from hardenoff.forecast.hours import Forecast
from hardenoff.forecast.nws import POINTS, READER, grid_path
from hardenoff.forecast.open_meteo import READER as OPEN_METEO
from hardenoff.forecast.reader import FORECAST
from hardenoff.records import ForecastSettings, Place

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts"
PLACE = Place("Gorham", 42.94, -77.3, 263.0, "America/New_York")
START = pd.Timestamp("2027-04-18T00:00Z")
HOUR = pd.Timedelta(hours=1)


def body(name: str) -> bytes:
    return (FOLDER / "nws" / f"{name}.json").read_bytes()


def read(data: bytes, fetched_at: datetime | None = None) -> Forecast:
    return READER.parse({FORECAST: data}, fetched_at=fetched_at, headers={})


def changed(change: Callable[[dict[str, Any]], None], name: str = "old-prefix") -> Forecast:
    """The reply of four days, its layers changed."""
    document = json.loads(body(name))
    change(document["properties"])
    return read(json.dumps(document).encode())


def values(*pairs: tuple[str, Any]) -> list[dict[str, Any]]:
    return [{"validTime": f"2027-04-18T{interval}", "value": value} for interval, value in pairs]


# --- layers and hours -----------------------------------------------------------------------------------


def test_hours_run_over_the_whole_grid() -> None:
    """P7DT14H of run-length intervals are 182 hours, from the first interval's start."""
    hours = read(body("normal")).hours
    assert (len(hours), hours.index[0], hours.index[-1]) == (182, START, START + 181 * HOUR)


def test_temperature_is_the_source_within_half_a_degree_fahrenheit() -> None:
    """The grid is in whole degrees F: at most 0.28 K from the same weather told by another provider."""
    ours = read(body("normal")).hours["air_temperature_c"]
    source = (FOLDER / "open-meteo" / "normal.json").read_bytes()
    theirs = OPEN_METEO.parse({FORECAST: source}, fetched_at=None, headers={}).hours["air_temperature_c"]
    assert (ours - theirs).abs().max() <= 0.5 / 1.8 + 0.051


def test_rain_is_a_total_of_its_interval() -> None:
    """Six-hour totals are spread: the hours add up to what was delivered, not to six times as much."""
    document = json.loads(body("normal"))
    delivered = sum(entry["value"] for entry in document["properties"]["quantitativePrecipitation"]["values"])
    assert delivered > 0.0
    assert read(body("normal")).hours["precipitation_mm"].sum() == pytest.approx(delivered)


def test_chance_of_rain_is_not_divided() -> None:
    """A probability holds for its interval and is repeated in each of its hours."""
    forecast = changed(
        lambda layers: layers["probabilityOfPrecipitation"].update(values=values(("00:00:00+00:00/PT6H", 30)))
    )
    assert forecast.hours["precipitation_probability_frac"].iloc[:6].tolist() == [0.3] * 6


def test_layer_is_unknown_past_its_own_end() -> None:
    """Precipitation ends 23 h before temperature: NaN from there, never the last value carried on."""
    hours = read(body("normal")).hours
    assert hours["precipitation_mm"].iloc[-23:].isna().all()
    assert hours["precipitation_mm"].iloc[:-23].notna().all()
    assert hours["air_temperature_c"].notna().all()


@pytest.mark.parametrize(
    ("interval", "hours"), [("PT1H", 1), ("P1D", 24), ("P6DT15H", 159), ("PT72H", 72), ("P1DT6H", 30)]
)
def test_interval_of_any_length_is_expanded(interval: str, hours: int) -> None:
    """One hour, days, days and hours, and more hours than a day has."""
    forecast = changed(
        lambda layers: layers["dewpoint"].update(values=values((f"00:00:00+00:00/{interval}", 3.0)))
    )
    assert forecast.hours["dew_point_c"].iloc[:hours].eq(3.0).all()
    assert (forecast.hours["dew_point_c"] == 3.0).sum() == hours


def test_first_interval_begins_in_the_past() -> None:
    """The grid is kept as delivered, from the start of its first interval."""
    forecast = changed(
        lambda layers: layers["skyCover"].update(
            values=[{"validTime": "2027-04-17T20:00:00+00:00/PT9H", "value": 0}]
        )
    )
    assert forecast.hours.index[0] == START - 4 * HOUR
    assert np.isnan(forecast.hours["air_temperature_c"].iloc[0])


def test_wind_is_in_metres_a_second() -> None:
    """36 km/h is 10 m/s (SI brochure, 9th edition, 2019: h = 3600 s)."""
    forecast = changed(lambda layers: layers["windSpeed"].update(values=values(("00:00:00+00:00/PT2H", 36.0))))
    assert forecast.hours["wind_speed_m_s"].iloc[0] == pytest.approx(10.0)


def test_wind_takes_metres_a_second_as_they_are() -> None:
    """A unit that is not the usual one but known is converted by its own factor."""
    forecast = changed(
        lambda layers: layers["windSpeed"].update(
            uom="wmoUnit:m_s-1", values=values(("00:00:00+00:00/PT2H", 10.0))
        )
    )
    assert forecast.hours["wind_speed_m_s"].iloc[0] == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("layer", "column", "ours"),
    [
        ("temperature", "air_temperature_c", 18.0),
        ("dewpoint", "dew_point_c", 18.0),
        ("relativeHumidity", "relative_humidity_frac", 0.18),
        ("windSpeed", "wind_speed_m_s", 5.0),
        ("windGust", "wind_gust_m_s", 5.0),
        ("windDirection", "wind_from_deg", 18.0),
        ("skyCover", "cloud_cover_frac", 0.18),
        ("quantitativePrecipitation", "precipitation_mm", 9.0),
        ("probabilityOfPrecipitation", "precipitation_probability_frac", 0.18),
    ],
)
def test_layer_goes_into_its_column_in_its_unit(layer: str, column: str, ours: float) -> None:
    """An 18 that holds for two hours, in our unit: percent, km/h and millimetres of two hours are converted."""
    forecast = changed(lambda layers: layers[layer].update(values=values(("00:00:00+00:00/PT2H", 18.0))))
    assert forecast.hours[column].iloc[:2].tolist() == pytest.approx([ours, ours])


def test_old_unit_prefix_means_the_same() -> None:
    """`unit:degC` of before October 2021 and `wmoUnit:degC` are one unit."""
    new = json.loads(body("old-prefix").decode().replace('"unit:', '"wmoUnit:'))
    pd.testing.assert_frame_equal(read(json.dumps(new).encode()).hours, read(body("old-prefix")).hours)


def test_unknown_unit_is_refused() -> None:
    """A unit that nobody told us is refused, not guessed."""
    with pytest.raises(UnreadableError, match=r"windSpeed comes in 'wmoUnit:furlong_fortnight-1'"):
        changed(lambda layers: layers["windSpeed"].update(uom="wmoUnit:furlong_fortnight-1"))


def test_missing_unit_is_read_as_the_usual_one_and_said() -> None:
    """A layer may come without a unit; that it was taken as km/h is in the notes."""
    forecast = read(body("nulls"))
    assert forecast.hours["wind_speed_m_s"].max() < 10.0
    assert "windSpeed: no unit in the reply, read as km_h-1" in forecast.origin.notes


def test_null_value_is_unknown_and_zero_is_not() -> None:
    """Null makes NaN in its hours alone; 0 degC (32 F) stays."""
    air = read(body("nulls")).hours["air_temperature_c"]
    document = json.loads(body("nulls"))
    entries = document["properties"]["temperature"]["values"]
    lost = [pd.Timestamp(entry["validTime"].split("/")[0]) for entry in entries if entry["value"] is None]
    assert set(lost) <= set(air.index[air.isna()])
    assert air.isna().sum() < 6
    assert (read(body("zero-degrees")).hours["air_temperature_c"] == 0.0).any()


@pytest.mark.parametrize(("layer", "note"), [("windGust", "no value"), ("skyCover", "no value")])
def test_layer_of_nulls_or_of_nothing_is_noted(layer: str, note: str) -> None:
    """`value: null` throughout and `values: []` both mean that nothing is known."""
    assert f"{layer}: {note} in the reply" in read(body("nulls")).origin.notes


def test_absent_layer_is_noted() -> None:
    """A layer that the reply lacks is NaN, and the notes name it."""
    forecast = read(body("missing-column"))
    assert forecast.hours["cloud_cover_frac"].isna().all()
    assert "skyCover: not in the reply" in forecast.origin.notes


def test_numbers_as_text_are_numbers() -> None:
    """Quoted numbers, as the service has sent them, are read as if bare."""
    pd.testing.assert_frame_equal(read(body("numbers-as-text")).hours, read(body("old-prefix")).hours)


def test_unreadable_value_is_left_out_and_counted() -> None:
    """A word among the numbers, or an interval of nonsense, costs its own hours and no more."""
    forecast = changed(
        lambda layers: layers["dewpoint"].update(
            values=values(
                ("00:00:00+00:00/PT1H", "dry"), ("01:00:00+00:00/soon", 3.0), ("02:00:00+00:00/PT1H", 4.0)
            )
        )
    )
    assert "dewpoint: 2 of 3 values unreadable, left out" in forecast.origin.notes
    assert forecast.hours["dew_point_c"].iloc[2] == 4.0


def test_radiation_is_left_to_others() -> None:
    """The grid has no radiation: NaN here, to be worked out from cloud later."""
    assert read(body("normal")).hours[["ghi_w_m2", "dni_w_m2", "dhi_w_m2"]].isna().all(axis=None)


def test_equal_hours_merged_are_no_long_step() -> None:
    """A run of equal hours comes as one interval; the step behind it is still that of its neighbours."""
    assert read(body("normal")).hours["native_step_h"].max() == 1.0


def test_long_steps_are_seen() -> None:
    """Where no interval of a day is shorter than six hours, the step is six hours."""
    blocks = [(f"{hour:02d}:00:00+00:00/PT6H", float(hour)) for hour in (0, 6, 12, 18)]
    forecast = changed(lambda layers: layers["temperature"].update(values=values(*blocks)))
    assert forecast.hours["native_step_h"].iloc[:24].eq(6.0).all()


# --- nights ---------------------------------------------------------------------------------------------


def test_windows_of_the_night_become_block_lows() -> None:
    """PT14H from 00 UTC, with gaps between by design: seven windows, none filled into the hours."""
    lows = read(body("normal")).block_lows
    assert len(lows) == 7
    assert (lows["end"] - lows["start"]).eq(14 * HOUR).all()
    assert lows["start"].dt.hour.eq(0).all()


def test_night_low_of_the_window_is_kept_to_the_digit() -> None:
    """The forecaster's own minimum, in degC."""
    document = json.loads(body("normal"))
    delivered = [entry["value"] for entry in document["properties"]["minTemperature"]["values"]]
    assert read(body("normal")).block_lows["min_c"].tolist() == delivered


# --- weather words --------------------------------------------------------------------------------------


def weather(coverage: str | None, word: str | None, *attributes: str) -> list[dict[str, Any]]:
    return [{"coverage": coverage, "weather": word, "intensity": None, "attributes": list(attributes)}]


@pytest.mark.parametrize(
    ("kinds", "code"),
    [
        (weather("likely", "thunderstorms"), 95.0),
        (weather("chance", "thunderstorms", "small_hail"), 96.0),
        (weather("slight_chance", "thunderstorms"), 0.0),
        (weather("likely", "rain") + weather("chance", "thunderstorms"), 95.0),
        (weather("likely", "rain"), 61.0),
        (weather(None, None), 0.0),
    ],
)
@outside(
    "WMO-No. 306, code table 4677: 61 rain, 95 thunderstorm, 96 with hail (from memory)",
    "weather code of the US service's words",
    within="equal",
    because="codes; a slight chance is none (ours)",
)
def test_weather_words_become_codes(kinds: list[dict[str, Any]], code: float) -> None:
    """As long as the words hold, and not after."""
    forecast = changed(lambda layers: layers["weather"].update(values=values(("00:00:00+00:00/PT3H", kinds))))
    compare(forecast.hours["weather_code"].iloc[:3].tolist(), [code] * 3)
    assert forecast.hours["weather_code"].iloc[3:].isna().all()


# --- where from, how old --------------------------------------------------------------------------------


def test_grid_cell_and_issue_time_are_told() -> None:
    """Middle of the cell, elevation and `updateTime`."""
    origin = read(body("normal")).origin
    assert (origin.latitude, origin.longitude) == pytest.approx((42.94, -77.33), abs=0.001)
    assert origin.elevation_m == 263.0
    assert origin.issued_at == datetime(2027, 4, 18, tzinfo=UTC)


def test_old_grid_served_as_new_is_noted() -> None:
    """The service answers 200 with a grid of yesterday: over 24 h old at fetching is said."""
    notes = read(body("normal"), datetime(2027, 4, 19, 6, tzinfo=UTC)).origin.notes
    assert any("30 h old" in note for note in notes)


def test_grid_of_today_is_not_called_old() -> None:
    """Up to 24 h is the ordinary run of things."""
    assert read(body("normal"), datetime(2027, 4, 19, 0, tzinfo=UTC)).origin.notes == ()


def test_other_form_of_the_same_grid_is_read() -> None:
    """Asked for as JSON-LD, the layers stand at the top and no polygon is given."""
    document = json.loads(body("old-prefix"))
    flat = read(json.dumps({**document["properties"], "geometry": "POLYGON((-77 42))"}).encode())
    pd.testing.assert_frame_equal(flat.hours, read(body("old-prefix")).hours)
    assert flat.origin.latitude is None


# --- refusals -------------------------------------------------------------------------------------------


def test_place_outside_the_us_is_told_from_an_outage() -> None:
    """404 InvalidPoint: this provider does not serve the place, so the next one is asked."""
    with pytest.raises(NotCoveredError, match="Data Unavailable For Requested Point"):
        read(body("refused-outside"))


def test_expired_grid_is_an_outage() -> None:
    """503 ForecastGridExpired is unreadable, with its title and since when; it says nothing about the place."""
    with pytest.raises(UnreadableError, match=r"Forecast Grid Expired.*2027-04-16T10:12") as caught:
        read(body("refused-grid-expired"))
    assert not isinstance(caught.value, NotCoveredError)


def test_grid_that_moved_to_sea_is_not_covered() -> None:
    """404 'Marine Forecast Not Supported', seen after a silent move of the grid."""
    problem = {"title": "Marine Forecast Not Supported", "status": 404, "type": "about:blank"}
    with pytest.raises(NotCoveredError, match="Marine"):
        read(json.dumps(problem).encode())


def test_empty_layers_are_no_forecast() -> None:
    """Every layer there and nothing in any of them."""
    with pytest.raises(UnreadableError, match="not one hour"):
        read(body("refused-empty-layers"))


def test_forecast_in_words_is_named() -> None:
    """Someone who saved /forecast/hourly learns which address to save instead."""
    document = {"properties": {"units": "us", "forecastGenerator": "x", "periods": []}}
    assert READER.recognises(document)
    with pytest.raises(UnreadableError, match="rounded for reading"):
        read(json.dumps(document).encode())


def test_points_reply_is_no_forecast() -> None:
    """Someone who saved /points is given the address of the grid."""
    with pytest.raises(UnreadableError) as caught:
        read(body("refused-points"))
    assert "https://api.weather.gov/gridpoints/XYZ/41,72" in caught.value.fix


# --- discovery ------------------------------------------------------------------------------------------


def test_first_request_finds_the_cell() -> None:
    """/points with no trailing zeros, which would be redirected; the alerts beside it may fail."""
    first, second = READER.requests(PLACE, ForecastSettings(), {})
    assert (first.role, first.url) == (POINTS, "https://api.weather.gov/points/42.94,-77.3")
    assert (second.role, second.optional) == (ALERTS, True)
    assert first.headers == {"Accept": "application/geo+json"}


def test_second_request_takes_the_grid() -> None:
    """The address of the grid is the one that /points names."""
    answered = {POINTS: body("refused-points"), ALERTS: b"{}"}
    (request,) = READER.requests(PLACE, ForecastSettings(), answered)
    assert (request.role, request.url) == (FORECAST, "https://api.weather.gov/gridpoints/XYZ/41,72")


def test_stand_in_server_keeps_the_path_alone() -> None:
    """The host that /points names is left out, or a stand-in server would be left at the second step."""
    settings = ForecastSettings(base_urls={"nws": "http://127.0.0.1:8123"})
    request, _alerts = READER.requests(PLACE, settings, {POINTS: body("refused-points")})
    assert request.url == "http://127.0.0.1:8123/gridpoints/XYZ/41,72"


def test_nothing_is_left_to_ask() -> None:
    """With all three replies there, the loop ends."""
    answered = {POINTS: body("refused-points"), ALERTS: b"{}", FORECAST: b"{}"}
    assert READER.requests(PLACE, ForecastSettings(), answered) == ()


def test_point_without_a_grid_is_not_covered() -> None:
    """A point at sea has a /points reply and no grid on land."""
    with pytest.raises(NotCoveredError):
        grid_path(json.dumps({"properties": {"forecastGridData": None}}).encode())


@pytest.mark.parametrize(
    "address", ["https://api.weather.gov/../etc", "https://x/gridpoints/XYZ/41,72/forecast", 7]
)
def test_address_that_is_no_grid_is_not_followed(address: object) -> None:
    """Only /gridpoints/OFFICE/x,y is asked, whatever the reply says."""
    with pytest.raises(UnreadableError, match="no address of a grid"):
        grid_path(json.dumps({"properties": {"forecastGridData": address}}).encode())


def test_points_are_kept_for_a_week() -> None:
    """The map of places to cells changes rarely, and without notice."""
    first, _alerts = READER.requests(PLACE, ForecastSettings(), {})
    assert timedelta(seconds=first.keep_s) == timedelta(days=7)
