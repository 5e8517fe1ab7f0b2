"""A table of one's own: what it may look like, and every fault named with its line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from hardenoff.errors import UnreadableError
from hardenoff.forecast.hours import COLUMN_NAMES, Forecast
from hardenoff.forecast.open_meteo import READER as OPEN_METEO
from hardenoff.forecast.reader import FORECAST
from hardenoff.forecast.table import READER
from hardenoff.records import ForecastSettings, Place

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts"
HEADER = "time,air_temperature_c,relative_humidity_frac"


def read(*lines: str) -> Forecast:
    return READER.parse({FORECAST: "\n".join(lines).encode()}, fetched_at=None, headers={})


def fault(*lines: str) -> UnreadableError:
    with pytest.raises(UnreadableError) as caught:
        read(*lines)
    return caught.value


# --- what is read ---------------------------------------------------------------------------------------


def test_values_are_taken_as_they_stand() -> None:
    """The columns are ours, units and all: nothing is converted."""
    hours = read(HEADER, "2027-04-20T06:00+00:00,4.3,0.91", "2027-04-20T07:00+00:00,-0.5,1").hours
    assert hours["air_temperature_c"].tolist() == [4.3, -0.5]
    assert hours["relative_humidity_frac"].tolist() == [0.91, 1.0]


def test_offset_decides_the_hour() -> None:
    """06:00 at +02:00 is 04:00 UTC, and Z is UTC."""
    hours = read(HEADER, "2027-04-20T06:00:00+02:00,4.3,0.91", "2027-04-20T05:00Z,5.3,0.9").hours
    assert hours.index[0] == pd.Timestamp("2027-04-20T04:00Z")
    assert len(hours) == 2


def test_clock_change_has_both_of_its_hours() -> None:
    """When clocks go back, the same wall time comes twice, told apart by its offset."""
    hours = read(HEADER, "2027-10-31T02:00+02:00,4,0.9", "2027-10-31T02:00+01:00,3,0.9").hours
    assert hours["air_temperature_c"].tolist() == [4.0, 3.0]


def test_table_in_local_time_reads_like_the_same_weather_in_utc() -> None:
    """The fixture's table, with local offsets across a clock change, against another provider's reply."""
    ours = READER.parse(
        {FORECAST: (FOLDER / "table" / "clock-change.csv").read_bytes()}, fetched_at=None, headers={}
    )
    source = (FOLDER / "open-meteo" / "clock-change.json").read_bytes()
    theirs = OPEN_METEO.parse({FORECAST: source}, fetched_at=None, headers={})
    pd.testing.assert_series_equal(
        ours.hours["air_temperature_c"], theirs.hours["air_temperature_c"], check_freq=False
    )


@pytest.mark.parametrize("cell", ["", "nan", "NaN", "NA", "null", "  "])
def test_empty_cell_is_unknown(cell: str) -> None:
    """Nothing is not zero."""
    hours = read(HEADER, f"2027-04-20T06:00Z,{cell},0.9", "2027-04-20T07:00Z,0,0.9").hours
    assert np.isnan(hours["air_temperature_c"].iloc[0])
    assert hours["air_temperature_c"].iloc[1] == 0.0


def test_missing_hour_is_unknown() -> None:
    """A gap in the stamps becomes an hour without values; the step stays an hour where it was."""
    hours = read(HEADER, *(f"2027-04-20T{h:02d}:00Z,5,0.9" for h in (6, 7, 9, 10))).hours
    assert hours["air_temperature_c"].isna().tolist() == [False, False, True, False, False]


def test_comments_blank_lines_order_and_byte_order_mark_are_allowed() -> None:
    """What spreadsheets and careful people add."""
    text = f"\ufeff# my station\n\n{HEADER}\r\n2027-04-20T07:00Z, 5.0 ,0.9\r\n2027-04-20T06:00Z,4.0,0.9\r\n\r\n"
    hours = READER.parse({FORECAST: text.encode()}, fetched_at=None, headers={}).hours
    assert hours["air_temperature_c"].tolist() == [4.0, 5.0]


def test_time_may_stand_in_any_column() -> None:
    """Columns are found by name."""
    hours = read("precipitation_mm,time,air_temperature_c", "0.2,2027-04-20T06:00Z,4").hours
    assert (hours["precipitation_mm"].iloc[0], hours["air_temperature_c"].iloc[0]) == (0.2, 4.0)


def test_every_column_of_the_contract_is_known() -> None:
    """A table may have all columns of the hourly frame."""
    row = ",".join(["2027-04-20T06:00Z", *["1"] * len(COLUMN_NAMES)])
    assert read(",".join(["time", *COLUMN_NAMES]), row).hours.notna().all(axis=None)


def test_humidity_in_percent_does_not_pass_for_a_share() -> None:
    """91 is no fraction: left out with a note, not clipped to 1."""
    forecast = read(HEADER, "2027-04-20T06:00Z,4.3,91")
    assert np.isnan(forecast.hours["relative_humidity_frac"].iloc[0])
    assert any(
        note.startswith("relative_humidity_frac: 1 of 1 hours outside 0 to 1") for note in forecast.origin.notes
    )


# --- what is refused, and where -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "line", "what", "fix"),
    [
        (["# c", HEADER, "2027-04-20T06:00,4,0.9"], 3, "without an offset from UTC", "clock change"),
        ([HEADER, "5/6/2027 06:00,4,0.9"], 2, "day and month can be read either way", "rewrite"),
        ([HEADER, "5/6,4,0.9"], 2, "day and month can be read either way", "rewrite"),
        ([HEADER, "06.05.2027 06:00,4,0.9"], 2, "day and month can be read either way", "rewrite"),
        ([HEADER, "tomorrow,4,0.9"], 2, "time 'tomorrow'", "rewrite"),
        ([HEADER, "0001-01-01T00:00+14:00,4,0.9"], 2, "in the year 1", "mend the year"),
        ([HEADER, "2027-04-20,4,0.9"], 2, "without an offset", "add the offset"),
        ([HEADER, "2027-04-20T06:10Z,4,0.9"], 2, "not on a full hour", "hourly values"),
        ([HEADER, "2027-04-20T06:00+05:30,4,0.9"], 2, "not on a full hour of UTC", "half past"),
        ([HEADER, "2027-04-20T06:00Z,4,3,0,91"], 2, "5 values for 3 columns", "point"),
        ([HEADER, '2027-04-20T06:00Z,"4,3",0.9'], 2, "air_temperature_c = '4,3'", "write 4.3"),
        ([HEADER, "2027-04-20T06:00Z,4 C,0.9"], 2, "air_temperature_c = '4 C'", "number alone"),
        ([HEADER, "2027-04-20T06:00Z,1_0,0.9"], 2, "air_temperature_c = '1_0'", "number alone"),
        ([HEADER, '2027-04-20T06:00Z,"4,0.9'], 2, "not CSV", "quotes"),
        ([HEADER, "2027-04-20T06:00Z,4"], 2, "2 values for 3 columns", "complete the line"),
        (
            [HEADER, "2027-04-20T06:00Z,4,0.9", "2027-04-20T08:00+02:00,5,0.9"],
            3,
            "the hour of line 2 again",
            "keep one",
        ),
        ([HEADER.replace(",", ";"), "2027-04-20T06:00Z;4;0.9"], 1, "semicolons", "commas"),
        (["time,air_temp_c", "2027-04-20T06:00Z,4"], 1, "unknown column 'air_temp_c'", "air_temperature_c (degC)"),
        (["time,wind_gust_km_h", "2027-04-20T06:00Z,4"], 1, "'wind_gust_km_h'", "wind_gust_m_s (m/s)"),
        (["time,colour", "2027-04-20T06:00Z,4"], 1, "unknown column 'colour'", ""),
        (["time,ghi_w_m2,ghi_w_m2", "2027-04-20T06:00Z,4,4"], 1, "'ghi_w_m2' twice", "delete"),
        (["time", "2027-04-20T06:00Z"], 1, "no column but `time`", "add"),
        (["air_temperature_c,dew_point_c", "4,3"], 1, "no column `time`", "header"),
    ],
)
def test_fault_is_named_with_its_line(lines: list[str], line: int, what: str, fix: str) -> None:
    """What is wrong and where, what is expected, what to do."""
    error = fault(*lines)
    assert error.what.startswith(f"table, line {line}: ")
    assert what in error.what
    assert fix in error.fix
    assert error.expected


def test_expected_unit_is_told() -> None:
    """A cell that is no number is answered with the unit of its column."""
    assert fault("time,wind_speed_m_s", "2027-04-20T06:00Z,calm").expected == "a number, in m/s"


def test_header_alone_is_no_forecast() -> None:
    """No hours."""
    assert "no hours" in fault(HEADER).what


def test_json_is_no_table() -> None:
    """A provider's reply given as a table."""
    assert "JSON" in fault('{"hourly": {}}').what


def test_nobody_is_asked_for_a_table() -> None:
    """It has no address and names no place."""
    assert READER.requests(Place("", 42.94, -77.3, None, "UTC"), ForecastSettings(), {}) == ()
    origin = read(HEADER, "2027-04-20T06:00Z,4.3,0.91").origin
    assert (origin.latitude, origin.longitude, origin.issued_at) == (None, None, None)


@pytest.mark.parametrize(
    ("text", "is_table"),
    [
        ("time,air_temperature_c\n", True),
        ("# comment\ntime;air_temperature_c\n", True),
        ("air_temperature_c\ttime\n", True),
        ("once upon a time, there was\n", False),
        ("", False),
    ],
)
def test_tables_are_recognised_by_their_header(text: str, is_table: bool) -> None:
    """Also with the wrong separator, so that the fault is told rather than 'no forecast that we know'."""
    assert READER.recognises(text) is is_table
    assert not READER.recognises({"time": 1})
