"""Weather files in: the raw file's own values at the hours they belong to, and what a file lacks."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from functools import cache
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from validation import compare, outside

from hardenoff.errors import UnreadableError, UsageError
from hardenoff.records import Place
from hardenoff.trial.weather import TYPICAL_YEAR, Weather, read_weather

GREENSBORO, SAND_POINT = "723170TYA.CSV", "703165TY.csv"
HOUR = timedelta(hours=1)
TMY3 = "Wilcox & Marion 2008, *Users Manual for TMY3 Data Sets*, NREL/TP-581-43156, table 1-1"


def packaged(name: str) -> bytes:
    """A typical year out of pvlib's wheel (NREL, TMY3)."""
    return (files("pvlib") / "data" / name).read_bytes()


@cache
def read(name: str) -> Weather:
    """Read once."""
    return read_weather(packaged(name), name)


@pytest.fixture
def greensboro() -> Weather:
    return read(GREENSBORO)


@pytest.fixture
def sand_point() -> Weather:
    return read(SAND_POINT)


@cache
def raw_rows(name: str) -> list[tuple[datetime, dict[str, str]]]:
    """The file's own lines with the end of their hour, read without pvlib; the year is ours."""
    return list(_raw_rows(name))


def _raw_rows(name: str) -> Iterator[tuple[datetime, dict[str, str]]]:
    (first, head, *lines) = csv.reader(packaged(name).decode().splitlines())
    offset = timezone(timedelta(hours=float(first[3])))
    for line in lines:
        row = dict(zip(head, line, strict=True))
        month, day, _ = (int(part) for part in row["Date (MM/DD/YYYY)"].split("/"))
        hour = int(row["Time (HH:MM)"].split(":")[0])
        yield datetime(TYPICAL_YEAR, month, day, tzinfo=offset) + hour * HOUR, row


@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])
@pytest.mark.parametrize(
    ("ours", "theirs", "factor"),
    [
        ("air_temperature_c", "Dry-bulb (C)", 1.0),
        ("dew_point_c", "Dew-point (C)", 1.0),
        ("wind_speed_m_s", "Wspd (m/s)", 1.0),
        ("cloud_cover_frac", "TotCld (tenths)", 0.1),
    ],
)
@outside(
    f"{TMY3}: a reading is 'at the time indicated'; the files' lines, read without pvlib",
    "air, dew point, wind and cloud of two typical years, hour by hour",
    within="0.000001",
    because="rounding",
)
def test_readings_stay_at_their_moment(name: str, ours: str, theirs: str, factor: float) -> None:
    """The reading of that label."""
    values = read(name).truth.hours[ours].to_dict()
    given = {stamp: float(row[theirs]) for stamp, row in raw_rows(name) if float(row[theirs]) > -9000.0}
    compare(np.array([values[stamp] for stamp in given]), np.array(list(given.values())) * factor)


@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])
@pytest.mark.parametrize(("ours", "theirs"), [("ghi", "GHI"), ("dni", "DNI"), ("dhi", "DHI")])
@outside(
    f"{TMY3}: radiation is 'received during the 60 minutes prior to the timestamp'; the files' lines",
    "global, direct and diffuse radiation of the same years, at the start of their hour",
    within="equal",
    because="the same numbers",
)
def test_sums_move_to_the_start_of_their_hour(name: str, ours: str, theirs: str) -> None:
    """An hour before the stamp."""
    values = read(name).truth.hours[f"{ours}_w_m2"].to_dict()
    rows = raw_rows(name)
    assert len(rows) == 8760
    given = [float(row[f"{theirs} (W/m^2)"]) for _, row in rows[1:]]
    compare([values[stamp - HOUR] for stamp, _ in rows[1:]], given)


def test_the_file_s_own_place(greensboro: Weather) -> None:
    """First line: 723170, -5.0, 36.100, -79.950, 273; the zone keeps winter time all year."""
    place = greensboro.place
    assert (place.latitude, place.longitude, place.elevation_m) == (36.1, -79.95, 273.0)
    july = datetime(TYPICAL_YEAR, 7, 1, 12, tzinfo=place.tz)
    assert july.utcoffset() == timedelta(hours=-5)


def test_another_zone_may_be_asked_for() -> None:
    """With summer time, as the carer's clock goes; the hours stay where they are."""
    asked = read_weather(packaged(GREENSBORO), GREENSBORO, timezone="America/New_York")
    assert asked.place.timezone == "America/New_York"
    label = pd.Timestamp("2027-06-16T22:00Z")
    assert asked.truth.hours["air_temperature_c"][label] == 23.9  # line of 06/16, 17:00 standard time


def test_one_year_without_gaps(greensboro: Weather) -> None:
    """Months of eight different years follow each other hour by hour."""
    index = greensboro.truth.hours.index
    assert len(index) == 8760
    assert (np.diff(index.asi8) == index.asi8[1] - index.asi8[0]).all()


def test_gusts_are_estimated_and_said(greensboro: Weather) -> None:
    """1.5 times the mean wind, marked."""
    hours = greensboro.truth.hours
    known = hours["wind_speed_m_s"].notna()
    assert known.sum() > 8700
    gusts, wind = (hours[name][known].to_numpy() for name in ("wind_gust_m_s", "wind_speed_m_s"))
    assert gusts == pytest.approx(1.5 * wind)
    assert "wind_gust_m_s" in greensboro.truth.origin.estimated
    assert any("gusts are not in the file" in note for note in greensboro.notes)


@outside(
    "normals 1981-2010 at Greensboro: some 1080 mm of rain a year (from memory)",
    "rain of the typical year",
    within="600 to 1500 mm",
    because="one year is half as wet again as another; in whole millimetres it would be eight metres",
)
def test_rain_goes_by_tenths_of_a_millimetre(greensboro: Weather) -> None:
    """The manual's unit and the file's are not the same."""
    compare(greensboro.truth.hours["precipitation_mm"].sum())


def test_a_file_without_rain_says_so(sand_point: Weather) -> None:
    """Sand Point has rain in 9 % of its hours: no gate for rain, and a note."""
    assert any("rain is not in the file" in note for note in sand_point.notes)
    assert "precipitation_mm" in sand_point.truth.origin.estimated


# --- EPW and PSM: small invented files in the formats' own columns -----------------------------------


def epw(hours: int = 48) -> bytes:
    """Two invented days; air is the hour's number, global radiation ten times it."""
    head = ["LOCATION,Nowhere,-,XXX,invented,000000,50.00,8.00,1.0,100.0", *(f"LINE {n}" for n in range(2, 9))]
    lines = []
    for n in range(hours):
        day, hour = divmod(n, 24)
        cells = ["2021", "5", str(day + 1), str(hour + 1), "60", "?"]
        cells += [f"{n % 40}", "1.0", "50", "101325", "0", "0", "300", str(10 * (n % 24)), "5", "6"]
        cells += ["999999", "999999", "999999", "9999", "200", "2.0", "4", "4", "20", "77777", "9", "0"]
        cells += ["10", "0.1", "0", "88", "0.2", "1.5", "1"]
        lines.append(",".join(cells))
    return "\n".join([*head, *lines, ""]).encode()


@outside(
    "EnergyPlus, *Auxiliary Programs*, EPW: line 'hour 3' holds 02:00 to 03:00, its readings are those of 03:00",
    "readings and sums of an EPW file (a small invented one)",
    within="0.000001",
    because="rounding",
)
def test_epw_hours() -> None:
    """In the format's own columns."""
    hours = read_weather(epw(), "small.epw").truth.hours
    third = pd.Timestamp("2021-05-01T03:00+01:00")
    compare(hours["air_temperature_c"][third], 2.0)
    compare(hours["ghi_w_m2"][third - HOUR], 20.0)
    compare(hours["cloud_cover_frac"][third], 0.4)
    compare(hours["precipitation_mm"][third - HOUR], 1.5)


def psm(step_min: int = 30) -> bytes:
    """Two invented days of half hours, or of hours stamped in their middle."""
    names = [
        "Source",
        "Location ID",
        "City",
        "State",
        "Country",
        "Latitude",
        "Longitude",
        "Time Zone",
        "Elevation",
    ]
    names += ["Local Time Zone"]
    values = ["NSRDB", "1", "-", "-", "-", "40.5", "-108.5", "-7", "2168", "-7"]
    columns = ["Year", "Month", "Day", "Hour", "Minute", "Temperature", "Dew Point", "DHI", "DNI", "GHI"]
    columns += ["Wind Direction", "Wind Speed", "Cloud Type"]
    lines = [",".join(names), ",".join(values), ",".join(columns)]
    for n in range(48 * 60 // step_min):
        minute = n * step_min + (30 if step_min == 60 else 0)
        day, rest = divmod(minute, 1440)
        cells = [2021, 5, day + 1, rest // 60, rest % 60, n, 1, 2, 3, 4 * n, 350, 3, 8 if n % 2 else 0]
        lines.append(",".join(str(cell) for cell in cells))
    return "\n".join([*lines, ""]).encode()


def test_psm_half_hours() -> None:
    """The hour is the mean of its two halves."""
    hours = read_weather(psm(), "small.csv").truth.hours
    five = pd.Timestamp("2021-05-01T05:00-07:00")
    assert hours["air_temperature_c"][five] == 10.5
    assert hours["ghi_w_m2"][five] == 42.0
    assert hours["cloud_cover_frac"][five] == 0.5


def test_a_place_without_a_name_has_one() -> None:
    """From where it lies, and a real year from its number."""
    assert read_weather(psm(), "small.csv").place.name == "40.5 N 108.5 W in 2021"


def test_psm_hours() -> None:
    """A stamp in the middle of the hour belongs to that hour."""
    hours = read_weather(psm(60), "small.csv").truth.hours
    assert hours["air_temperature_c"][pd.Timestamp("2021-05-01T05:00-07:00")] == 5.0


# --- tables and faults -------------------------------------------------------------------------------

TABLE = (
    b"time,air_temperature_c,wind_speed_m_s\n2021-05-01T00:00:00Z,4.0,2.0\n2021-05-01T01:00:00Z,5.0,2.0\n"
    b"2021-05-01T02:00:00Z,5.0,2.0\n"
)


def test_a_table_needs_its_place() -> None:
    """Nothing in it says where."""
    with pytest.raises(UsageError, match="does not say where"):
        read_weather(TABLE, "mine.csv")


def test_a_table_with_its_place() -> None:
    """Label and values as they stand in it."""
    place = Place("mine", 50.0, 8.0, None, "Europe/Berlin")
    weather = read_weather(TABLE, "mine.csv", asked=place)
    assert weather.place == place
    assert weather.truth.hours["air_temperature_c"].tolist() == [4.0, 5.0, 5.0]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"<html>", "not a weather file we read"),
        (b"", "not a weather file we read"),
        (b"LOCATION,Nowhere", "can't be read as that"),
        (packaged(GREENSBORO)[:1950], "can't be read as that"),
        (b"".join(packaged(GREENSBORO).splitlines(True)[:2]), "no hours in it"),
    ],
)
def test_faults_are_named(data: bytes, said: str) -> None:
    """In three parts, for a person."""
    with pytest.raises(UnreadableError) as caught:
        read_weather(data, "file")
    assert said in caught.value.what


def test_a_zone_off_the_hour_is_asked_for() -> None:
    """There is no name for it."""
    with pytest.raises(UsageError, match="keeps its clock"):
        read_weather(epw().replace(b",1.0,100.0", b",5.5,100.0"), "small.epw")
