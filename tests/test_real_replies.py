"""Replies as the providers' servers send them, as unlike our own fixtures as their documentation allows.

Three a provider: other units, other order, unknown keys, nulls, other horizons, other zones. Shapes after the
public documentation of the providers (open-meteo.com/en/docs; weather-gov/api OpenAPI description and its issues;
metno/weatherapi-docs 2023 and the Locationforecast 2.0 data model), partly from memory; values invented. Every
expectation is reckoned by hand, in the comment beside it or plainly visible in the numbers of the reply.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest

from hardenoff.forecast import read_saved
from hardenoff.forecast.hours import Forecast
from hardenoff.night import NightWeather, nights
from hardenoff.records import Place

HOUR = timedelta(hours=1)


def read(document: object) -> Forecast:
    """The forecast in a bare reply, whose provider nobody names."""
    return read_saved(json.dumps(document).encode()).forecast


def utc(text: str) -> datetime:
    """A moment, `04-20 06:00` of 2027."""
    return datetime.strptime(f"2027-{text}", "%Y-%m-%d %H:%M").replace(tzinfo=UTC)


def night(forecast: Forecast, place: Place, month: int, day: int) -> NightWeather:
    """The night that begins on the evening of a date of 2027."""
    on = date(2027, month, day)
    return nights(forecast, place, on, on)[0]


def span(forecast: Forecast) -> tuple[int, datetime, datetime]:
    """Number of hours, first and last stamp."""
    index = forecast.hours.index
    return len(index), index[0].to_pydatetime(), index[-1].to_pydatetime()


def at(forecast: Forecast, text: str, column: str) -> float:
    """A value of the frame."""
    return float(forecast.hours.loc[utc(text), column])


# --- Open-Meteo ----------------------------------------------------------------------------------------

DAYTON = Place("Dayton", 39.76, -84.19, 225.0, "America/New_York")
PUNE = Place("Pune", 18.52, 73.86, 560.0, "Asia/Kolkata")
LEEUWARDEN = Place("Leeuwarden", 53.2, 5.8, 1.0, "Europe/Amsterdam")


def documented_example() -> dict[str, Any]:
    """Local ISO stamps, km/h, seven days, a daily block and a current one, the head last."""
    hours = 7 * 24
    local = [utc("04-20 00:00") + hour * HOUR for hour in range(hours)]  # written without an offset
    air = [10.0 + (hour % 24) / 4 for hour in range(hours)]  # 10.0 at local midnight, 15.75 at 23:00
    air[24 + 5] = 1.4  # 05:00 local on the 21st
    return {
        "hourly": {
            "rain": [0.0] * hours,
            "windspeed_10m": [18] * hours,
            "wind_gusts_10m": [36.0] * hours,
            "shortwave_radiation": [0.0] * 12 + [500.0] + [0.0] * (hours - 13),  # stamped 12:00 local
            "visibility": [24140.0] * hours,
            "temperature_2m": air,
            "is_day": [0] * hours,
            "cloud_cover": [100] * hours,
            "weather_code": [3] * hours,
            "vapour_pressure_deficit": [0.4] * hours,
            "time": [f"{stamp:%Y-%m-%dT%H:%M}" for stamp in local],
        },
        "hourly_units": {
            "visibility": "m",
            "temperature_2m": "°C",
            "windspeed_10m": "km/h",
            "wind_gusts_10m": "km/h",
            "shortwave_radiation": "W/m²",
            "cloud_cover": "%",
            "weather_code": "wmo code",
            "is_day": "",
            "rain": "mm",
            "vapour_pressure_deficit": "kPa",
            "time": "iso8601",
        },
        "daily_units": {"time": "iso8601", "temperature_2m_min": "°C"},
        "daily": {"time": ["2027-04-20"], "temperature_2m_min": [-9.0]},
        "current_units": {"time": "iso8601", "interval": "seconds", "temperature_2m": "°C"},
        "current": {"time": "2027-04-20T06:15", "interval": 900, "temperature_2m": 11.1},
        "elevation": 229,
        "timezone_abbreviation": "EDT",
        "timezone": "America/New_York",
        "utc_offset_seconds": -14400,
        "generationtime_ms": 0.143,
        "longitude": -84.19,
        "latitude": 39.75884,
    }


def test_open_meteo_as_its_documentation_shows_it() -> None:
    """168 hours from local midnight, 04:00 UTC; 18 km/h are 5 m/s, 36 are 10; the night's low is its 05:00."""
    forecast = read(documented_example())
    assert span(forecast) == (168, utc("04-20 04:00"), utc("04-27 03:00"))
    assert at(forecast, "04-20 10:00", "wind_speed_m_s") == pytest.approx(5.0)
    assert at(forecast, "04-20 10:00", "wind_gust_m_s") == pytest.approx(10.0)
    assert at(forecast, "04-20 10:00", "cloud_cover_frac") == 1.0
    assert night(forecast, DAYTON, 4, 20).air_low_c == 1.4
    assert night(forecast, DAYTON, 4, 20).low_at == datetime(2027, 4, 21, 5, tzinfo=DAYTON.tz)
    # 21:00 on the 21st has 15.25; the coldest of that night is 10.0 at midnight
    assert night(forecast, DAYTON, 4, 21).air_low_c == 10.0


def test_open_meteo_mean_radiation_is_of_the_hour_before() -> None:
    """Stamped 12:00 EDT, it is the mean of 11:00 to 12:00, from 15:00 UTC on; a day's value is no hour's."""
    forecast = read(documented_example())
    assert at(forecast, "04-20 15:00", "ghi_w_m2") == 500.0
    assert at(forecast, "04-20 16:00", "ghi_w_m2") == 0.0
    assert forecast.hours["air_temperature_c"].min() == 1.4


def american_in_india() -> dict[str, Any]:
    """Fahrenheit, miles and inches, Unix time in a half-hour zone, whose stamps the provider misprints."""
    hours = 3 * 24
    first = int(utc("01-10 18:30").timestamp())  # local midnight of the 11th; its data are those of 19:00 UTC
    air_f: list[float | None] = [68.0] * hours
    air_f[30] = 41.0  # 30 hours on: 01:00 UTC of the 12th, 06:30 local
    return {
        "latitude": 18.5,
        "longitude": 73.875,
        "generationtime_ms": 0.05,
        "utc_offset_seconds": 19800,
        "timezone": "Asia/Kolkata",
        "timezone_abbreviation": "GMT+5:30",
        "elevation": 562.0,
        "hourly_units": {
            "time": "unixtime",
            "temperature_2m": "°F",
            "wind_speed_10m": "mp/h",
            "precipitation": "inch",
            "dew_point_2m": "°F",
        },
        "hourly": {
            "time": [first + 3600 * hour for hour in range(hours)],
            "temperature_2m": air_f,
            "dew_point_2m": [32] * hours,
            "wind_speed_10m": [10.0] * hours,
            "precipitation": [0.5] * hours,
        },
    }


def test_open_meteo_american_units_in_a_half_hour_zone() -> None:
    """41 F are 5 C, 10 mph 4.4704 m/s, half an inch 12.7 mm; stamps go to the full hour their data are of."""
    forecast = read(american_in_india())
    assert span(forecast) == (72, utc("01-10 19:00"), utc("01-13 18:00"))
    assert at(forecast, "01-11 19:00", "air_temperature_c") == pytest.approx(20.0)
    assert at(forecast, "01-11 19:00", "dew_point_c") == pytest.approx(0.0)
    assert at(forecast, "01-11 19:00", "wind_speed_m_s") == pytest.approx(4.4704)
    assert at(forecast, "01-11 19:00", "precipitation_mm") == pytest.approx(12.7)
    low = night(forecast, PUNE, 1, 11)
    assert low.air_low_c == pytest.approx(5.0)
    assert low.low_at == datetime(2027, 1, 12, 6, 30, tzinfo=PUNE.tz)


def long_with_holes() -> str:
    """Eighteen days in a list of one place; bare nan, a null tail of nine hours, gusts absent, wind in knots."""
    hours = 18 * 24
    air: list[object] = [0.0 if hour % 24 == 4 else 6.5 for hour in range(hours)]
    air[-9:] = [None] * 9
    document = [
        {
            "latitude": 53.2,
            "longitude": 5.8,
            "generationtime_ms": 1.2,
            "utc_offset_seconds": 0,
            "timezone": "GMT",
            "timezone_abbreviation": "GMT",
            "elevation": "NAN",
            "location_id": 0,
            "hourly_units": {
                "time": "unixtime",
                "temperature_2m": "°C",
                "wind_speed_10m": "kn",
                "snow_depth": "m",
            },
            "hourly": {
                "time": [int(utc("04-18 00:00").timestamp()) + 3600 * hour for hour in range(hours)],
                "temperature_2m": air,
                "wind_speed_10m": [9] * hours,
                "snow_depth": [0] * hours,
                "soil_moisture_0_to_1cm": [None] * hours,
            },
        }
    ]
    return json.dumps(document).replace('"NAN"', "nan")


def test_open_meteo_sixteen_days_ahead_and_two_back() -> None:
    """432 hours; 0 C is a value, a null is none; 9 kn are 4.63 m/s (1852 m a mile); gusts 1.5 x that, marked."""
    forecast = read_saved(long_with_holes().encode()).forecast
    assert span(forecast) == (432, utc("04-18 00:00"), utc("05-05 23:00"))
    assert forecast.hours["air_temperature_c"].isna().sum() == 9
    assert at(forecast, "04-20 00:00", "wind_speed_m_s") == pytest.approx(9 * 1852 / 3600)
    assert at(forecast, "04-20 00:00", "wind_gust_m_s") == pytest.approx(1.5 * 9 * 1852 / 3600)
    assert "wind_gust_m_s" in forecast.origin.estimated
    assert forecast.origin.elevation_m is None
    lows = [night(forecast, LEEUWARDEN, 4, day).air_low_c for day in range(18, 31)]
    assert lows == [0.0] * 13
    assert not night(forecast, LEEUWARDEN, 5, 5).known


# --- US National Weather Service -----------------------------------------------------------------------

DULUTH = Place("Duluth", 46.79, -92.1, 190.0, "America/Chicago")
FAIRBANKS = Place("Fairbanks", 64.84, -147.72, 136.0, "America/Anchorage")


def layer(uom: str | None, *values: tuple[str, object]) -> dict[str, Any]:
    """A layer of the grid: interval in `04-20T06/PT2H` form (2027, UTC), value."""
    listed = [{"validTime": _interval(text), "value": value} for text, value in values]
    return {"values": listed} if uom is None else {"uom": uom, "values": listed}


def _interval(text: str) -> str:
    start, length = text.split("/")
    return f"2027-{start}:00:00+00:00/{length}"


def grid_of_duluth() -> dict[str, Any]:
    """GeoJSON with all that comes beside the weather; run-length merged, layers that end at different times."""
    corners = [[-92.13, 46.77], [-92.13, 46.79], [-92.1, 46.8], [-92.1, 46.77], [-92.13, 46.77]]
    return {
        "@context": ["https://geojson.org/geojson-ld/geojson-context.jsonld", {"@version": "1.1"}],
        "id": "https://api.weather.gov/gridpoints/DLH/90,53",
        "type": "Feature",
        "geometry": {"type": "Polygon", "coordinates": [corners]},
        "properties": {
            "@id": "https://api.weather.gov/gridpoints/DLH/90,53",
            "@type": "wx:Gridpoint",
            "updateTime": "2027-04-20T09:41:27+00:00",
            "validTimes": "2027-04-20T03:00:00+00:00/P7DT22H",
            "elevation": {"unitCode": "wmoUnit:m", "value": 214.884},
            "forecastOffice": "https://api.weather.gov/offices/DLH",
            "gridId": "DLH",
            "gridX": "90",
            "gridY": "53",
            "maxTemperature": layer("wmoUnit:degC", ("04-20T13/PT13H", 12.222222222222221)),
            "temperature": layer(
                "wmoUnit:degC",
                ("04-20T03/PT1H", 5),
                ("04-20T04/PT8H", 4),
                ("04-20T12/PT12H", 11.666666666666666),
                ("04-21T00/P1D", 5.555555555555555),
                ("04-22T00/P1DT6H", 3),
                ("04-23T06/PT6H", -0.5555555555555556),
                ("04-23T12/P4DT13H", 8),
            ),
            "minTemperature": layer(
                "wmoUnit:degC",
                ("04-21T00/PT14H", 2.7777777777777777),
                ("04-22T00/PT14H", 3),
                ("04-23T00/PT14H", -2),
            ),
            "dewpoint": layer("wmoUnit:degC", ("04-20T03/P5D", 0)),
            "relativeHumidity": layer("wmoUnit:percent", ("04-20T03/P2D", 62), ("04-22T03/PT1H", None)),
            "apparentTemperature": layer("wmoUnit:degC", ("04-20T03/P7DT22H", 4.4)),
            "heatIndex": layer("wmoUnit:degC", ("04-20T03/P7DT22H", None)),
            "skyCover": layer("wmoUnit:percent", ("04-20T03/P1D", 97)),
            "windDirection": layer("wmoUnit:degree_(angle)", ("04-20T03/P7D", 360)),
            "windSpeed": layer("wmoUnit:km_h-1", ("04-20T03/P7D", 12.964)),
            "windGust": layer("wmoUnit:km_h-1", ("04-20T03/PT24H", 27.78)),
            "weather": layer(
                None,
                (
                    "04-20T18/PT6H",
                    [
                        {
                            "coverage": "likely",
                            "weather": "thunderstorms",
                            "intensity": None,
                            "visibility": {"unitCode": "wmoUnit:km", "value": None},
                            "attributes": [],
                        }
                    ],
                ),
            ),
            "hazards": layer(
                None, ("04-21T05/PT9H", [{"phenomenon": "FZ", "significance": "W", "event_number": None}])
            ),
            "probabilityOfPrecipitation": layer("wmoUnit:percent", ("04-20T12/PT6H", 80)),
            "quantitativePrecipitation": layer("wmoUnit:mm", ("04-20T12/PT6H", 9.144), ("04-20T18/PT6H", 0)),
            "snowLevel": {"values": []},
            "redFlagThreatIndex": {"values": []},
            "mixingHeight": layer("wmoUnit:m", ("04-20T03/PT4H", 297)),
        },
    }


def test_nws_layers_end_when_they_end() -> None:
    """190 hours of temperature (P7DT22H); sky for a day, gust for a day, then nothing, not the last value."""
    forecast = read(grid_of_duluth())
    assert span(forecast) == (190, utc("04-20 03:00"), utc("04-28 00:00"))
    assert forecast.hours["air_temperature_c"].notna().all()
    assert forecast.hours["cloud_cover_frac"].notna().sum() == 24
    assert at(forecast, "04-20 03:00", "cloud_cover_frac") == pytest.approx(0.97)
    assert forecast.origin.elevation_m == pytest.approx(214.884)
    assert forecast.origin.issued_at == datetime(2027, 4, 20, 9, 41, 27, tzinfo=UTC)


def test_nws_units() -> None:
    """27.78 km/h are 7.7167 m/s, 12.964 are 3.6011; 9.144 mm over six hours are 1.524 mm an hour, six times."""
    forecast = read(grid_of_duluth())
    assert at(forecast, "04-20 10:00", "wind_gust_m_s") == pytest.approx(7.7167, abs=1e-4)
    assert at(forecast, "04-20 10:00", "wind_speed_m_s") == pytest.approx(3.6011, abs=1e-4)
    rain = forecast.hours["precipitation_mm"].loc[utc("04-20 12:00") : utc("04-20 17:00")]
    assert rain.tolist() == pytest.approx([1.524] * 6)
    assert forecast.hours["precipitation_mm"].sum() == pytest.approx(9.144)
    assert at(forecast, "04-20 20:00", "weather_code") == 95.0
    # vapour pressure over water at 0 and 3 C: 6.108 and 7.575 hPa (Smithsonian Meteorological Tables, from memory)
    assert at(forecast, "04-23 00:00", "relative_humidity_frac") == pytest.approx(6.108 / 7.575, abs=0.001)


def test_nws_night_is_the_block_s_minimum() -> None:
    """Its own window goes lower than its hours: 2.78 under 5.56, then 3 alike, then -2 under -0.56."""
    forecast = read(grid_of_duluth())
    lows = [night(forecast, DULUTH, 4, day).air_low_c for day in (20, 21, 22)]
    assert lows == pytest.approx([25 / 9, 3.0, -2.0])
    assert night(forecast, DULUTH, 4, 24).air_low_c == 8.0  # no window: the hours


def six_hourly_alaska() -> dict[str, Any]:
    """PT6H everywhere, whole numbers, the old prefix, values out of order, nulls between, no geometry."""
    starts = [utc("02-01 00:00") + timedelta(hours=6 * n) for n in range(16)]
    values = [-30 + n for n in range(16)]
    entries = [
        {"validTime": f"{start:%Y-%m-%dT%H:%M:%S}+00:00/PT6H", "value": value}
        for start, value in zip(starts, values, strict=True)
    ]
    entries[14]["value"] = None
    return {
        "properties": {
            "gridId": "AFG",
            "updateTime": "2027-02-01T02:10:00+00:00",
            "validTimes": "2027-02-01T00:00:00+00:00/P4D",
            "elevation": {"value": 136, "unitCode": "unit:m"},
            "windSpeed": {"uom": "unit:km_h-1", "values": [{**entry, "value": 0} for entry in entries]},
            "temperature": {"uom": "unit:degC", "values": list(reversed(entries))},
            "minTemperature": {
                "uom": "unit:degC",
                "values": [{"validTime": "2027-02-02T03:00:00+00:00/PT18H", "value": -33}],
            },
        },
        "type": "Feature",
    }


def test_nws_six_hourly_with_whole_numbers() -> None:
    """16 x 6 hours; wind 0 is calm, not unknown; a null block is six unknown hours; -33 in the long window."""
    forecast = read(six_hourly_alaska())
    assert span(forecast) == (96, utc("02-01 00:00"), utc("02-04 23:00"))
    assert forecast.hours["air_temperature_c"].isna().sum() == 6
    assert at(forecast, "02-01 05:00", "air_temperature_c") == -30.0
    assert at(forecast, "02-01 06:00", "air_temperature_c") == -29.0
    assert (forecast.hours["wind_speed_m_s"].dropna() == 0.0).all()
    assert at(forecast, "02-01 05:00", "native_step_h") == 6.0
    assert night(forecast, FAIRBANKS, 2, 1).air_low_c == -33.0


def linked_data() -> dict[str, Any]:
    """`application/ld+json`: the layers at the top, the cell as text, one value for nearly the whole week."""
    return {
        "@context": {"@version": "1.1"},
        "@type": "wx:Gridpoint",
        "geometry": "POLYGON((-92.13 46.77,-92.13 46.79,-92.1 46.8,-92.1 46.77,-92.13 46.77))",
        "updateTime": "2027-04-20T09:41:27+00:00",
        "validTimes": "2027-04-20T03:00:00+00:00/P6DT15H",
        "elevation": {"unitCode": "wmoUnit:m", "value": 214},
        "temperature": layer("wmoUnit:degF", ("04-20T03/P6DT15H", 50)),
        "windSpeed": layer("wmoUnit:m_s-1", ("04-20T03/P6DT15H", 3)),
        "skyCover": layer(None, ("04-20T03/P6DT15H", 0)),
    }


def test_nws_as_linked_data() -> None:
    """6 d 15 h are 159 hours; 50 F are 10 C; a layer without a unit is read as the usual one, and that is said."""
    forecast = read(linked_data())
    assert span(forecast) == (159, utc("04-20 03:00"), utc("04-26 17:00"))
    assert forecast.hours["air_temperature_c"].tolist() == pytest.approx([10.0] * 159)
    assert at(forecast, "04-21 00:00", "wind_speed_m_s") == 3.0
    assert at(forecast, "04-21 00:00", "cloud_cover_frac") == 0.0
    assert any(note.startswith("skyCover: no unit") for note in forecast.origin.notes)
    assert forecast.origin.latitude is None


# --- MET Norway ----------------------------------------------------------------------------------------

BODO = Place("Bodø", 67.28, 14.4, 10.0, "Europe/Oslo")
POKHARA = Place("Pokhara", 28.21, 83.99, 822.0, "Asia/Kathmandu")
CORK = Place("Cork", 51.9, -8.47, 20.0, "Europe/Dublin")


def met(
    steps: Sequence[dict[str, Any]], coordinates: Sequence[float], updated: str, **units: str
) -> dict[str, Any]:
    """The envelope of a reply."""
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": list(coordinates)},
        "properties": {
            "meta": {
                "updated_at": updated,
                "units": {
                    "air_pressure_at_sea_level": "hPa",
                    "air_temperature": "celsius",
                    "air_temperature_min": "celsius",
                    "precipitation_amount": "mm",
                    "wind_speed": "m/s",
                    **units,
                },
            },
            "timeseries": list(steps),
        },
    }


def step(when: datetime, instant: dict[str, object], **periods: dict[str, object]) -> dict[str, Any]:
    """One entry of the time series; `next_6_hours` and the like as details, a symbol beside them."""
    return {
        "time": f"{when:%Y-%m-%dT%H:%M:%SZ}",
        "data": {
            "instant": {"details": instant},
            **{
                name: {"summary": {"symbol_code": "partlycloudy_night"}, "details": details}
                for name, details in periods.items()
            },
        },
    }


def nordic() -> dict[str, Any]:
    """59 hourly steps from 13:00, then 28 of six hours; percentiles, gusts, chances; the last lacks `next_*`."""
    first, switch = utc("05-03 13:00"), utc("05-06 00:00")
    steps = []
    for n in range(59):
        air = 6.0
        steps.append(
            step(
                first + n * HOUR,
                {
                    "air_pressure_at_sea_level": 1009.1,
                    "air_temperature": air,
                    "air_temperature_percentile_10": air - 1,
                    "air_temperature_percentile_90": air + 1,
                    "cloud_area_fraction": 50.0,
                    "cloud_area_fraction_high": 0.0,
                    "cloud_area_fraction_low": 50.0,
                    "cloud_area_fraction_medium": 0.0,
                    "dew_point_temperature": 1.0,
                    "fog_area_fraction": 0.0,
                    "relative_humidity": 70.4,
                    "ultraviolet_index_clear_sky": 2.1,
                    "wind_from_direction": 350.0,
                    "wind_speed": 3.0,
                    "wind_speed_of_gust": 7.5,
                },
                next_1_hours={
                    "precipitation_amount": 0.1,
                    "precipitation_amount_max": 0.4,
                    "probability_of_precipitation": 12.5,
                    "probability_of_thunder": 0.1,
                },
                next_6_hours={"air_temperature_max": 7.0, "air_temperature_min": 5.0, "precipitation_amount": 0.6},
                next_12_hours={"probability_of_precipitation": 20.0},
            )
        )
    for n in range(28):
        instant = {"air_temperature": 4.0 + (n % 2) * 4, "wind_speed": 2.0, "wind_from_direction": 10.0}
        # the 18:00 blocks of four nights hold a minimum under both their ends
        six = {"air_temperature_min": 1.5 if n % 4 == 3 else 4.0 - 0.0, "precipitation_amount": 3.0}
        periods = {"next_6_hours": six} if n < 22 else {}
        steps.append(step(switch + timedelta(hours=6 * n), instant, **periods))
    return met(
        steps,
        (14.405, 67.2804, 11),
        "2027-05-03T12:41:08Z",
        wind_speed_of_gust="m/s",
        ultraviolet_index_clear_sky="1",
        fog_area_fraction="%",
        probability_of_thunder="%",
    )


def test_met_norway_hours_then_six_hours() -> None:
    """From 13:00 on the 3rd to 18:00 on the 12th (28 steps from the 6th): 222 hours, the last a bare instant."""
    forecast = read(nordic())
    assert span(forecast) == (222, utc("05-03 13:00"), utc("05-12 18:00"))
    assert at(forecast, "05-04 00:00", "wind_gust_m_s") == 7.5
    assert at(forecast, "05-04 00:00", "relative_humidity_frac") == pytest.approx(0.704)
    assert at(forecast, "05-04 00:00", "precipitation_probability_frac") == pytest.approx(0.125)
    # 59 hours of 0.1 mm, then 22 blocks of 3 mm
    assert forecast.hours["precipitation_mm"].sum() == pytest.approx(5.9 + 66.0)
    assert at(forecast, "05-05 23:00", "native_step_h") == 1.0
    assert at(forecast, "05-06 00:00", "native_step_h") == 6.0
    assert forecast.origin.issued_at == datetime(2027, 5, 3, 12, 41, 8, tzinfo=UTC)
    assert (forecast.origin.latitude, forecast.origin.elevation_m) == (67.2804, 11)


def test_met_norway_block_minimum_is_the_night_s_low() -> None:
    """The line between 18:00 and 00:00 never falls under 4.0; the block between says 1.5, four nights."""
    forecast = read(nordic())
    line = forecast.hours["air_temperature_c"].loc[utc("05-06 18:00") : utc("05-07 00:00")]
    assert line.min() == 4.0
    assert [night(forecast, BODO, 5, day).air_low_c for day in (6, 7, 8, 9)] == [1.5] * 4
    assert night(forecast, BODO, 5, 3).air_low_c == 5.0  # the hourly part has minima of its own
    assert not night(forecast, BODO, 5, 12).known


def sparse() -> dict[str, Any]:
    """Six-hour steps all through, whole numbers, a null, two coordinates only, nothing but air and wind."""
    steps = []
    for n in range(17):
        instant: dict[str, object] = {"air_temperature": 10 + 2 * (n % 4), "wind_speed": 0}
        if n == 9:
            instant["air_temperature"] = None
        periods = {} if n == 16 else {"next_6_hours": {"air_temperature_min": 3 if n == 3 else None}}
        steps.append(step(utc("03-01 00:00") + timedelta(hours=6 * n), instant, **periods))
    return met(steps, (83.99, 28.21), "2027-03-01T00:05:00Z")


def test_met_norway_six_hours_all_through_in_a_quarter_hour_zone() -> None:
    """17 steps are 97 hours; between 10 at 00:00 and 12 at 06:00 a line; the block from 18:00 UTC says 3."""
    forecast = read(sparse())
    assert span(forecast) == (97, utc("03-01 00:00"), utc("03-05 00:00"))
    assert at(forecast, "03-01 03:00", "air_temperature_c") == 11.0
    assert at(forecast, "03-01 03:00", "wind_speed_m_s") == 0.0
    # 18:00 to 24:00 UTC is 23:45 to 05:45 in Kathmandu's zone, within the night of the 1st
    assert night(forecast, POKHARA, 3, 1).air_low_c == 3.0
    assert forecast.hours["air_temperature_c"].loc[utc("03-03 01:00") : utc("03-03 11:00")].isna().all()
    assert night(forecast, POKHARA, 3, 2).known is False  # 06:00 UTC of the 3rd is the null: dawn has no value


def compact_and_shuffled() -> dict[str, Any]:
    """Hours in no order, one twice, a sleet symbol, no percentages, no minima; starts at half the day."""
    order = np.random.default_rng(7).permutation(40)
    steps = [
        step(
            utc("10-30 15:00") + int(n) * HOUR,
            {"air_temperature": 9.0 - (0.5 * int(n) if n < 16 else 7.5), "wind_speed": 4.2},
            next_1_hours={"precipitation_amount": 0.0},
        )
        for n in order
    ]
    steps[0]["data"]["next_1_hours"]["summary"]["symbol_code"] = "sleet"
    return met([*steps, steps[0]], (-8.47, 51.9, 27), "2027-10-30T14:31:00Z")


def test_met_norway_out_of_order_over_the_end_of_summer_time() -> None:
    """40 hours; from 9 C it falls by half a degree an hour to 1.5 at 06:00 UTC, winter time there."""
    forecast = read(compact_and_shuffled())
    assert span(forecast) == (40, utc("10-30 15:00"), utc("11-01 06:00"))
    low = night(forecast, CORK, 10, 30)
    assert low.air_low_c == 1.5
    assert low.low_at == datetime(2027, 10, 31, 5, tzinfo=CORK.tz)
    assert forecast.hours["cloud_cover_frac"].isna().all()
    assert forecast.origin.notes


# --- all of them ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "document",
    [documented_example, american_in_india, grid_of_duluth, six_hourly_alaska, linked_data, nordic, sparse],
)
def test_nothing_missing_became_a_number(document: Any) -> None:
    """A column that no reply has is NaN in every hour; nothing is nought that was not given."""
    hours = read(document()).hours
    assert hours["soil_temperature_c"].isna().all()
    assert hours["uv_index"].isna().all()
    assert isinstance(hours.index, pd.DatetimeIndex)
