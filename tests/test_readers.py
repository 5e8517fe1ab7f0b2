"""One contract over every reader and every situation in `fixtures/forecasts/<key>/`.

`<situation>.json` (or `.csv`, ...) is the body with role `forecast`; `<situation>.<role>.json` are further
replies. A body whose situation is in REFUSED, or begins with `refused-`, must be refused by name; every other
one must be read. A new provider's folder holds at least SITUATIONS, all for one garden except `another-place`,
`clock-change` and `polar-day`; `old` ends before `normal` begins.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from astral import Observer
from astral.sun import noon

from hardenoff.errors import Exit, HardenoffError, NoForecastError, UnreadableError
from hardenoff.forecast import (
    COLUMN_NAMES,
    COLUMNS,
    FORECAST,
    READERS,
    Forecast,
    check_age,
    check_place,
    read_saved,
)
from hardenoff.forecast.body import load_document
from hardenoff.forecast.reader import coordinates
from hardenoff.records import ForecastSettings, Place

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts"
SITUATIONS = {
    "normal",
    "clock-change",
    "polar-day",
    "missing-column",
    "nulls",
    "zero-degrees",
    "empty",
    "truncated",
    "another-place",
    "old",
}
REFUSED = {"empty", "truncated", "error", "html"}
ZONES = ("Europe/Berlin", "America/New_York", "America/Denver", "Australia/Hobart")
KEYS = tuple(READERS)


def cases(key: str) -> dict[str, dict[str, bytes]]:
    """Situation -> bodies by role."""
    found: dict[str, dict[str, bytes]] = {}
    for path in sorted((FOLDER / key).glob("*.*")):
        situation, *role = path.name.split(".")[:-1]
        found.setdefault(situation, {})[role[0] if role else FORECAST] = path.read_bytes()
    return found


def refused(situation: str) -> bool:
    return situation in REFUSED or situation.startswith("refused-")


def parsed(key: str, bodies: Mapping[str, bytes]) -> Forecast:
    return READERS[key].parse(bodies, fetched_at=None, headers={})


@cache
def situation(key: str, name: str) -> Forecast:
    """Read once for all tests, none of which changes it."""
    return parsed(key, cases(key)[name])


READABLE = [(key, name) for key in KEYS for name in cases(key) if not refused(name)]
UNREADABLE = [(key, name) for key in KEYS for name in cases(key) if refused(name)]
each_reader = pytest.mark.parametrize("key", KEYS)
each_readable = pytest.mark.parametrize(("key", "name"), READABLE)
each_unreadable = pytest.mark.parametrize(("key", "name"), UNREADABLE)


# --- every body that can be read -----------------------------------------------------------------------


@each_reader
def test_folder_holds_every_situation(key: str) -> None:
    """A provider without a fixture for a situation has not been tried in it."""
    assert set(cases(key)) >= SITUATIONS


@each_reader
def test_folder_says_where_its_bodies_come_from(key: str) -> None:
    """Beside each folder stands whether its values are invented or recorded, and under which licence."""
    assert "icence" in (FOLDER / f"{key}.origin").read_text("utf-8")


@each_readable
def test_columns_are_those_of_the_contract(key: str, name: str) -> None:
    """All columns, in order, as 64-bit floats: nothing more, nothing less."""
    hours = situation(key, name).hours
    assert tuple(hours.columns) == COLUMN_NAMES
    assert (hours.dtypes == np.float64).all()


@each_readable
def test_index_is_every_hour_of_utc(key: str, name: str) -> None:
    """The index is named `time`, in UTC, on the full hour, without a gap or a repeat."""
    index = situation(key, name).hours.index
    assert isinstance(index, pd.DatetimeIndex)
    assert index.name == "time"
    assert str(index.dtype) == "datetime64[ns, UTC]"
    assert index.equals(pd.date_range(index[0].floor("h"), periods=len(index), freq="h"))


@each_readable
def test_values_are_within_their_bounds(key: str, name: str) -> None:
    """No value outside what COLUMNS calls believable; missing stays NaN."""
    hours = situation(key, name).hours
    for column in COLUMNS:
        assert hours[column.name].dropna().between(column.least, column.most).all(), column.name


@each_readable
def test_step_behind_each_hour_is_known(key: str, name: str) -> None:
    """`native_step_h` is filled in every hour."""
    assert situation(key, name).hours["native_step_h"].notna().all()


@each_readable
def test_block_lows_have_their_shape(key: str, name: str) -> None:
    """Block lows are start, end and degC, each block with a length."""
    lows = situation(key, name).block_lows
    assert [str(lows[column].dtype) for column in ("start", "end", "min_c")] == [
        "datetime64[ns, UTC]",
        "datetime64[ns, UTC]",
        "float64",
    ]
    assert (lows["end"] > lows["start"]).all()


@each_readable
def test_origin_tells_whose_forecast_it_is(key: str, name: str) -> None:
    """Provider and credit line are there, times carry their zone, estimates name real columns."""
    origin = situation(key, name).origin
    assert (origin.provider, origin.attribution) == (key, READERS[key].attribution)
    assert origin.attribution
    assert origin.issued_at is None or origin.issued_at.tzinfo is not None
    assert set(origin.estimated) <= set(COLUMN_NAMES)
    assert all(isinstance(note, str) for note in origin.notes)


@each_readable
def test_reading_twice_gives_the_same(key: str, name: str) -> None:
    """A reader keeps nothing between two bodies."""
    first, second = (parsed(key, cases(key)[name]) for _ in range(2))
    pd.testing.assert_frame_equal(first.hours, second.hours)
    assert first.origin == second.origin


@each_readable
def test_bare_body_finds_its_reader(key: str, name: str) -> None:
    """A saved body is recognised by its own reader and by no other."""
    document = load_document(cases(key)[name][FORECAST], name)
    assert [other for other in KEYS if READERS[other].recognises(document)] == [key]
    assert read_saved(cases(key)[name][FORECAST]).provider == key


@each_reader
def test_time_of_fetching_is_kept(key: str) -> None:
    """`fetched_at` goes into the origin as it is."""
    at = datetime(2027, 4, 20, 6, tzinfo=UTC)
    assert READERS[key].parse(cases(key)["normal"], fetched_at=at, headers={}).origin.fetched_at == at


# --- every body that can't -----------------------------------------------------------------------------


@each_unreadable
def test_unreadable_body_is_refused_in_three_parts(key: str, name: str) -> None:
    """What is wrong, what is expected, what to do; exit code 4; nothing of Python shows."""
    with pytest.raises(UnreadableError) as caught:
        parsed(key, cases(key)[name])
    fault: HardenoffError = caught.value
    assert fault.exit_code == Exit.UNREADABLE
    assert all((fault.what, fault.expected, fault.fix))
    assert "Traceback" not in str(fault)


# --- each situation ------------------------------------------------------------------------------------


@each_reader
def test_normal_forecast_knows_its_temperatures(key: str) -> None:
    """A normal forecast has two days or more, nine hours in ten of which have a temperature."""
    air = situation(key, "normal").hours["air_temperature_c"]
    assert len(air) >= 48
    assert air.notna().mean() >= 0.9


@each_reader
def test_clock_change_neither_loses_nor_doubles_an_hour(key: str) -> None:
    """Across a change of clocks every hour has its own temperature."""
    hours = situation(key, "clock-change").hours
    offsets = [{stamp.tz_convert(zone).utcoffset() for stamp in hours.index} for zone in ZONES]
    assert any(len(both) == 2 for both in offsets), "the fixture spans no clock change"
    assert hours["air_temperature_c"].notna().all()


@each_reader
def test_polar_day_has_no_dark_hour(key: str) -> None:
    """North of the polar circle at midsummer every hour has light, where the provider gives radiation."""
    forecast = situation(key, "polar-day")
    assert forecast.origin.latitude is None or forecast.origin.latitude > 66.6
    assert (forecast.hours["ghi_w_m2"].dropna() > 0.0).all()
    assert forecast.hours["air_temperature_c"].notna().any()


@each_reader
def test_missing_column_is_nan_or_marked(key: str) -> None:
    """A column that the reply lacks is NaN throughout or marked as our estimate, never zeros."""
    full, lacking = situation(key, "normal"), situation(key, "missing-column")
    had = {name for name in COLUMN_NAMES if full.hours[name].notna().any()} - set(full.origin.estimated)
    has = {name for name in COLUMN_NAMES if lacking.hours[name].notna().any()} - set(lacking.origin.estimated)
    assert had > has
    assert "air_temperature_c" in has


@each_reader
def test_null_is_nan(key: str) -> None:
    """Null temperatures are NaN, beside others that are known."""
    air = situation(key, "nulls").hours["air_temperature_c"]
    assert air.isna().any()
    assert air.notna().any()


@each_reader
def test_zero_degrees_is_a_value(key: str) -> None:
    """0 degC is neither missing nor false."""
    assert (situation(key, "zero-degrees").hours["air_temperature_c"] == 0.0).any()


@each_reader
def test_another_place_is_refused(key: str) -> None:
    """A forecast whose grid point is over 50 km off is told from the garden's own."""
    point = situation(key, "normal").origin
    if point.latitude is None or point.longitude is None:
        pytest.skip("this provider names no place")
    garden = Place("Ferry Lane", point.latitude, point.longitude, None, "UTC")
    check_place(situation(key, "normal"), garden)
    with pytest.raises(UnreadableError, match="km from Ferry Lane"):
        check_place(situation(key, "another-place"), garden)


@each_reader
def test_old_forecast_is_refused(key: str) -> None:
    """A forecast with no hour left is no forecast: exit 3, by its reader or by the check of its age."""
    now = situation(key, "normal").hours.index[0].to_pydatetime()
    with pytest.raises(NoForecastError):
        check_age(situation(key, "old"), now=now, as_of=None)


@each_reader
def test_radiation_is_centred_on_solar_noon(key: str) -> None:
    """The label is the start of the hour: mid-hour times weighted by radiation average to solar noon.

    Solar noon from astral (equation of time of Meeus). One hour off, as end-labelled columns would be, fails.
    """
    forecast = situation(key, "normal")
    ghi = forecast.hours["ghi_w_m2"]
    latitude, longitude = forecast.origin.latitude, forecast.origin.longitude
    if ghi.isna().all() or latitude is None or longitude is None:
        pytest.skip("no radiation in this provider's replies")
    late = []
    for day in sorted({stamp.date() for stamp in ghi.index})[1:-1]:
        middle = pd.Timestamp(noon(Observer(latitude, longitude), date=day, tzinfo=UTC))
        around = ghi[(ghi.index > middle - timedelta(hours=12)) & (ghi.index < middle + timedelta(hours=11))]
        since_noon_h = (around.index - middle).total_seconds().to_numpy() / 3600.0 + 0.5
        late.append(float(np.average(since_noon_h, weights=around.to_numpy())))
    assert abs(float(np.median(late))) <= 0.25


# --- requests ------------------------------------------------------------------------------------------


each_asked = pytest.mark.parametrize("key", [key for key in READERS if key != "table"])
"""A table is given, not asked for."""


def test_a_table_is_asked_of_nobody() -> None:
    """No address for what the grower gives."""
    place = Place("Ferry Lane", 42.93, -77.31, 263.0, "America/New_York")
    assert tuple(READERS["table"].requests(place, ForecastSettings(), {})) == ()


@each_asked
def test_place_goes_out_with_two_decimals(key: str) -> None:
    """No address tells more of the garden's place than two decimals, unless the grower wants it."""
    place = Place("Ferry Lane", 42.93456, -77.31234, 263.0, "America/New_York")
    requests = READERS[key].requests(place, ForecastSettings(), {})
    assert any("42.93" in request.url and "77.31" in request.url for request in requests)
    assert not any("42.934" in request.url or "77.312" in request.url for request in requests)


@each_asked
def test_stand_in_server_is_asked_instead(key: str) -> None:
    """`[forecast.base_url]` replaces scheme and host of every address; the provider's own path follows."""
    place = Place("Ferry Lane", 42.93, -77.31, 263.0, "America/New_York")
    settings = ForecastSettings(base_urls={key: "http://127.0.0.1:8123/"})
    requests = READERS[key].requests(place, settings, {})
    assert requests
    for request in requests:
        assert request.url.startswith("http://127.0.0.1:8123/")
        assert not request.url.startswith("http://127.0.0.1:8123//")


@pytest.mark.parametrize(
    ("degrees", "sent", "sent_exact"),
    [(42.93456, "42.93", "42.9346"), (-0.001, "0", "-0.001"), (10.0, "10", "10"), (-77.301, "-77.3", "-77.301")],
)
def test_coordinates_have_no_trailing_zeros(degrees: float, sent: str, sent_exact: str) -> None:
    """One provider answers a trailing zero with a redirect, and there is no minus nought."""
    place = Place("Ferry Lane", degrees, degrees, None, "UTC")
    assert coordinates(place, ForecastSettings()) == (sent, sent)
    assert coordinates(place, ForecastSettings(exact_place=True)) == (sent_exact, sent_exact)


# --- the registry --------------------------------------------------------------------------------------


def test_every_provider_is_found_by_its_key() -> None:
    """A module of the package with a READER is a provider under the reader's own key."""
    assert {"met-norway", "nws", "open-meteo", "table"} <= set(READERS)
    assert all(READERS[key].key == key for key in READERS)


@pytest.mark.parametrize("key", ["frame", "met_norway", "NWS", "", "no-such", "..errors"])
def test_what_is_no_provider_is_not_found(key: str) -> None:
    """Other modules of the package and other spellings are no providers."""
    assert key not in READERS


def test_importing_the_package_loads_no_pandas() -> None:
    """`hardenoff.forecast` and its records are light: pandas comes with the first reader."""
    code = "import sys, hardenoff.forecast, hardenoff.forecast.hours; print('pandas' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
