"""Nights: where they begin and end, their low, when they are unknown, the leaf, the odds, the verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from statistics import NormalDist
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from validation import compare, outside

from hardenoff.forecast.hours import COLUMN_NAMES, Forecast, Origin
from hardenoff.night import (
    NightWeather,
    SpotNight,
    at_spot,
    check_below_c,
    clear_calm_share,
    harm_below_c,
    judge,
    lead_days,
    nights,
)
from hardenoff.records import Place, Risk
from hardenoff.tables import load_crops, load_night_model, low_spread_c

PLACE = Place("Mill Bank", 41.2, -81.5, 300.0, "America/New_York")
NEW_YORK = ZoneInfo("America/New_York")
EVENING = date(2027, 5, 4)
ORIGIN = Origin("table", "ours", None, None, None, None)
NO_BLOCKS = pd.DataFrame({"start": [], "end": [], "min_c": []})
TOMATO, KALE = load_crops()["tomato"], load_crops()["kale"]


@dataclass(frozen=True)
class Sun:
    """Sunrise and sunset as a test wants them."""

    sunrise: datetime | None = None
    sunset: datetime | None = None


def local(day: int, hour: int, minute: int = 0) -> datetime:
    """May 2027 in New York."""
    return datetime(2027, 5, day, hour, minute, tzinfo=NEW_YORK)


def plain_sun(sunrise: str = "06:10", sunset: str = "20:25") -> dict[date, Sun]:
    """The same rise and set on all days of early May."""
    return {
        date(2027, 5, day): Sun(
            datetime.combine(date(2027, 5, day), time.fromisoformat(sunrise), NEW_YORK),
            datetime.combine(date(2027, 5, day), time.fromisoformat(sunset), NEW_YORK),
        )
        for day in range(1, 9)
    }


def frame(first: date = date(2027, 5, 1), days: int = 9, air_c: float = 12.0) -> pd.DataFrame:
    """Steady, overcast, breezy hours; each test puts its own weather in."""
    index = pd.date_range(pd.Timestamp(first, tz="UTC"), periods=24 * days, freq="h", name="time")
    hours = pd.DataFrame(np.nan, index=index, columns=list(COLUMN_NAMES))
    return hours.assign(air_temperature_c=air_c, cloud_cover_frac=1.0, wind_speed_m_s=6.0)


def forecast(hours: pd.DataFrame, **more: pd.DataFrame) -> Forecast:
    return Forecast(hours, more.get("block_lows", NO_BLOCKS), ORIGIN, more.get("members_c"))


def one(
    hours: pd.DataFrame, evening: date = EVENING, sun: dict[date, Sun] | None = None, **more: pd.DataFrame
) -> NightWeather:
    """The night of that evening."""
    found = nights(forecast(hours, **more), PLACE, evening, evening, sun_times=sun or plain_sun())
    return found[0]


def put(hours: pd.DataFrame, column: str, at: datetime, value: float) -> None:
    """One value at one hour, which must be in the frame."""
    stamp = pd.Timestamp(at).tz_convert("UTC")
    assert stamp in hours.index
    hours.loc[stamp, column] = value


# --- from one evening to the next morning -----------------------------------------------------------------


def test_a_night_runs_from_the_full_hour_before_sunset_to_the_one_after_sunrise() -> None:
    """Sunset 20:25, sunrise 06:10 the next day: 20:00 to 07:00, named by both dates."""
    night = one(frame())
    assert (night.evening, night.morning) == (date(2027, 5, 4), date(2027, 5, 5))
    assert (night.start, night.end) == (local(4, 20), local(5, 7))
    assert night.start.tzinfo == NEW_YORK
    assert len(night.hours_c) == 12


def test_the_low_before_dawn_belongs_to_the_evening_before() -> None:
    """A low at 05:00 on the 5th is the night 4/5; one at 23:00 on the 5th is the night 5/6."""
    hours = frame()
    put(hours, "air_temperature_c", local(5, 5), 3.0)
    put(hours, "air_temperature_c", local(5, 23), 6.0)
    found = nights(forecast(hours), PLACE, EVENING, date(2027, 5, 5), sun_times=plain_sun())
    assert [night.air_low_c for night in found] == [3.0, 6.0]
    assert [night.low_at for night in found] == [local(5, 5), local(5, 23)]


@pytest.mark.parametrize(
    ("at", "counts"), [((4, 19), False), ((4, 20), True), ((5, 6), True), ((5, 7), True), ((5, 8), False)]
)
def test_the_search_covers_both_ends_and_no_more(at: tuple[int, int], counts: bool) -> None:
    """A cold hour of the afternoon or of the forenoon is none of the night's."""
    hours = frame()
    put(hours, "air_temperature_c", local(*at), 1.0)
    assert one(hours).air_low_c == (1.0 if counts else 12.0)


def test_no_nights_between_dates_out_of_order() -> None:
    """Nothing to search, nothing found."""
    assert nights(forecast(frame()), PLACE, EVENING, date(2027, 5, 3), sun_times=plain_sun()) == ()


def test_the_least_within_an_hour_counts() -> None:
    """The hour from 04:00 sank to 2.5 between two readings of 12."""
    hours = frame()
    put(hours, "air_temperature_min_c", local(5, 4), 2.5)
    night = one(hours)
    assert (night.air_low_c, night.low_at) == (2.5, local(5, 4))


def test_the_least_of_the_hour_after_the_search_is_day() -> None:
    """What happens between 07:00 and 08:00 comes after the last full hour searched."""
    hours = frame()
    put(hours, "air_temperature_min_c", local(5, 7), 2.5)
    assert one(hours).air_low_c == 12.0


def blocks(*rows: tuple[datetime, datetime, float]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["start", "end", "min_c"])
    return table.assign(start=pd.to_datetime(table["start"], utc=True), end=pd.to_datetime(table["end"], utc=True))


@pytest.mark.parametrize(
    ("start", "end", "low_c"),
    [
        (local(4, 22), local(5, 4), 4.0),
        (local(4, 15), local(4, 21), 4.0),
        (local(5, 6), local(5, 12), 4.0),
        (local(4, 14), local(4, 20), 12.0),
        (local(5, 7), local(5, 13), 12.0),
    ],
    ids=["inside", "over the evening", "over the morning", "ends as the night begins", "begins as it ends"],
)
def test_a_block_low_counts_where_it_overlaps_the_night(start: datetime, end: datetime, low_c: float) -> None:
    """Providers give the least of six hours or of a whole night; hours between are interpolated, too mild."""
    night = one(frame(), block_lows=blocks((start, end, 4.0)))
    assert night.air_low_c == low_c


def test_a_block_low_is_placed_at_the_coldest_hour_of_its_block() -> None:
    """The block says how cold, the hours say when."""
    hours = frame()
    put(hours, "air_temperature_c", local(4, 21), 8.0)
    put(hours, "air_temperature_c", local(5, 3), 9.0)
    night = one(hours, block_lows=blocks((local(5, 0), local(5, 6), 4.0), (local(5, 0), local(5, 6), 7.0)))
    assert (night.air_low_c, night.low_at) == (4.0, local(5, 3))


def test_a_mild_or_missing_block_low_never_lifts_the_low() -> None:
    """The coldest thing said of the night wins; NaN says nothing."""
    hours = frame()
    put(hours, "air_temperature_c", local(5, 5), 3.0)
    table = blocks((local(4, 21), local(5, 3), 9.0), (local(5, 3), local(5, 9), math.nan))
    assert one(hours, block_lows=table).air_low_c == 3.0


def test_zero_degrees_is_a_value() -> None:
    """0 C is neither missing nor false."""
    hours = frame()
    put(hours, "air_temperature_c", local(5, 5), 0.0)
    assert (one(hours).air_low_c, one(hours).known) == (0.0, True)


def test_hours_below_a_threshold_are_counted() -> None:
    """Three hours under 10 C, strictly."""
    hours = frame()
    for hour, value in ((1, 10.0), (2, 9.9), (3, 5.0), (4, 9.0)):
        put(hours, "air_temperature_c", local(5, hour), value)
    assert one(hours).hours_below(10.0) == 3


# --- unknown ----------------------------------------------------------------------------------------------

SHORT = plain_sun(sunrise="04:30", sunset="20:30")
"""20:00 to 05:00: ten hours, so that one missing leaves exactly 90 %."""


@pytest.mark.parametrize(("gaps", "known"), [(0, True), (1, True), (2, False)])
def test_under_nine_tenths_of_the_hours_a_night_is_unknown(gaps: int, known: bool) -> None:
    """Ten hours: with nine it is known, with eight it is not."""
    hours = frame()
    for hour in range(gaps):
        put(hours, "air_temperature_c", local(4, 21 + hour), math.nan)
    night = one(hours, sun=SHORT)
    assert len(night.hours_c) == 10
    assert night.known is known
    assert (night.missing is None) is known


@pytest.mark.parametrize(
    ("hour", "known"), [(2, True), (3, False), (4, False), (5, False), (6, False), (7, False)]
)
def test_one_missing_hour_round_sunrise_makes_a_night_unknown(hour: int, known: bool) -> None:
    """Sunrise 06:10: from 03:10 to 07:10 every hour must be there, earlier one of twelve may be missing."""
    hours = frame()
    put(hours, "air_temperature_c", local(5, hour), math.nan)
    assert one(hours).known is known


def test_an_unknown_night_has_no_numbers_and_says_why() -> None:
    """Nothing that could be taken for mild: the low that was seen is only an upper bound."""
    hours = frame()
    put(hours, "air_temperature_c", local(5, 5), math.nan)
    night = one(hours)
    assert (night.air_low_c, night.low_at, night.cloud_frac, night.wind_m_s) == (None, None, None, None)
    assert night.missing is not None
    assert "05:00" in night.missing
    assert math.isnan(night.hours_c[9])


def test_a_missing_row_is_a_missing_hour() -> None:
    """The forecast ends at midnight: the night is unknown, the one before is not."""
    hours = frame().loc[: pd.Timestamp(local(5, 0)).tz_convert("UTC")]
    found = nights(forecast(hours), PLACE, date(2027, 5, 3), date(2027, 5, 5), sun_times=plain_sun())
    assert [night.known for night in found] == [True, False, False]


def test_a_block_low_never_makes_an_unknown_night_known() -> None:
    """It may be of the part that is there."""
    hours = frame()
    put(hours, "air_temperature_c", local(5, 5), math.nan)
    assert not one(hours, block_lows=blocks((local(4, 20), local(5, 8), 4.0))).known


def test_the_least_of_an_hour_does_not_stand_in_for_its_temperature() -> None:
    """A reader may have worked it out from the next hour."""
    hours = frame()
    put(hours, "air_temperature_c", local(5, 5), math.nan)
    put(hours, "air_temperature_min_c", local(5, 5), 9.0)
    assert not one(hours).known


# --- cloud and wind ---------------------------------------------------------------------------------------


def test_cloud_and_wind_are_those_of_the_coldest_hours() -> None:
    """Within 1 C of the coldest hour; a cloudy, windy evening does not soften a clear dawn."""
    hours = frame()
    for hour, air, cloud, wind in ((4, 5.9, 0.2, 1.0), (5, 5.0, 0.0, 2.0), (6, 6.1, 1.0, 9.0)):
        put(hours, "air_temperature_c", local(5, hour), air)
        put(hours, "cloud_cover_frac", local(5, hour), cloud)
        put(hours, "wind_speed_m_s", local(5, hour), wind)
    night = one(hours)
    assert (night.cloud_frac, night.wind_m_s) == (pytest.approx(0.1), pytest.approx(1.5))


def test_missing_cloud_and_wind_count_as_clear_and_calm() -> None:
    """Missing data never relax anything."""
    night = one(frame().assign(cloud_cover_frac=math.nan, wind_speed_m_s=math.nan))
    assert (night.known, night.cloud_frac, night.wind_m_s) == (True, 0.0, 0.0)


# --- clocks and latitudes (with the real sun) -------------------------------------------------------------


def real(place: Place, evening: date) -> NightWeather:
    """A night of steady 12 C with a low of 2 C two hours before its end."""
    quiet = frame(evening - timedelta(days=2), 5)
    first = nights(forecast(quiet), place, evening, evening)[0]
    put(quiet, "air_temperature_c", first.end - timedelta(hours=2), 2.0)
    return nights(forecast(quiet), place, evening, evening)[0]


@pytest.mark.parametrize(
    ("evening", "start", "end", "elapsed_h"),
    [
        (date(2027, 3, 13), "2027-03-13T18:00-05:00", "2027-03-14T08:00-04:00", 13),
        (date(2026, 10, 31), "2026-10-31T18:00-04:00", "2026-11-01T07:00-05:00", 14),
    ],
    ids=["clocks go forward", "clocks go back"],
)
def test_a_night_across_a_clock_change_keeps_all_its_hours(
    evening: date, start: str, end: str, elapsed_h: int
) -> None:
    """The wall clock's difference is an hour off the hours that pass, in either direction."""
    night = real(PLACE, evening)
    assert (night.start, night.end) == (datetime.fromisoformat(start), datetime.fromisoformat(end))
    assert len(night.hours_c) == elapsed_h + 1
    assert night.end.astimezone(UTC) - night.start.astimezone(UTC) == timedelta(hours=elapsed_h)
    assert night.air_low_c == 2.0


def test_a_night_in_the_southern_hemisphere_on_a_zone_a_day_ahead() -> None:
    """Christchurch in October: the night of a local evening lies on the same UTC date or the one before."""
    place = Place("South Bank", -43.5, 172.6, 10.0, "Pacific/Auckland")
    night = real(place, date(2026, 10, 12))
    assert (night.start.date(), night.end.date()) == (date(2026, 10, 12), date(2026, 10, 13))
    assert (night.start.hour, night.end.hour) == (19, 7)
    assert night.low_at == night.end - timedelta(hours=2)


@pytest.mark.parametrize(
    "place",
    [
        Place("Hill Terrace", 28.6, 77.2, 216.0, "Asia/Kolkata"),
        Place("Gully End", -34.9, 138.6, 50.0, "Australia/Adelaide"),
    ],
    ids=["north", "south"],
)
def test_a_half_hour_zone_has_its_full_hours_at_half_past(place: Place) -> None:
    """The frame's hours are UTC hours; the night still holds sunset and sunrise."""
    night = real(place, EVENING)
    assert (night.start.minute, night.end.minute) == (30, 30)
    assert night.start.date() == EVENING
    assert (night.known, night.air_low_c) == (True, 2.0)


@pytest.mark.parametrize("evening", [date(2027, 6, 20), date(2026, 12, 20)], ids=["polar day", "polar night"])
def test_where_the_sun_does_not_set_or_rise_the_clock_does(evening: date) -> None:
    """21:00 to 07:00, local."""
    place = Place("Top Shed", 69.65, 18.96, 10.0, "Europe/Oslo")
    night = real(place, evening)
    assert (night.start.hour, night.start.date()) == (21, evening)
    assert (night.end.hour, night.end.date()) == (7, evening + timedelta(days=1))
    assert (night.known, night.air_low_c) == (True, 2.0)


def test_a_sunset_after_midnight_belongs_to_the_evening_before() -> None:
    """Far north the sun of the 4th sets at 00:20 on the 5th and rises at 01:30."""
    sun = {
        date(2027, 5, 4): Sun(local(4, 1, 35), local(4, 0, 15)),
        date(2027, 5, 5): Sun(local(5, 1, 30), local(5, 0, 20)),
    }
    night = one(frame(), sun=sun)
    assert (night.start, night.end) == (local(5, 0), local(5, 2))


def test_a_very_short_night_still_asks_for_the_hours_round_sunrise() -> None:
    """Three hours before a sunrise at 01:30 lie before sunset, and must be there all the same."""
    sun = {
        date(2027, 5, 4): Sun(local(4, 1, 35), local(4, 0, 15)),
        date(2027, 5, 5): Sun(local(5, 1, 30), local(5, 0, 20)),
    }
    hours = frame()
    put(hours, "air_temperature_c", local(4, 22), math.nan)
    assert not one(hours, sun=sun).known


# --- the drop to the leaf -----------------------------------------------------------------------------------

OPEN_NIGHT = NightWeather(
    EVENING, date(2027, 5, 5), local(4, 20), local(5, 7), True, None, 3.0, local(5, 5), 0.0, 0.0, (3.0,)
)


def spot_night(night: NightWeather = OPEN_NIGHT, **changes: float | None) -> SpotNight:
    found = at_spot(night, **{"colder_c": 0.0, "sky_view": 1.0, "lead_days": 1.0, **changes})  # type: ignore[arg-type]
    assert found is not None
    return found


def leaf_balance_drop_c(sky_view: float, cloud: float, leaf_wind_m_s: float, air_c: float = 3.0) -> float:
    """Leaf below air by its energy balance: a level leaf 3 cm wide, dew point -2 C, the rest at air temperature.

    Sky emissivity: Prata, Q. J. R. Meteorol. Soc. 122:1127, 1996. Boundary layer (1.4 x 0.135 sqrt(u/d)
    mol/m2/s, 29.3 J/mol/K): Campbell & Norman, An Introduction to Environmental Biophysics, 1998. From memory.
    """
    kelvin, vapour_hpa = air_c + 273.15, 6.108 * math.exp(17.27 * -2.0 / (237.3 - 2.0))
    water = 46.5 * vapour_hpa / kelvin
    clear_emissivity = 1.0 - (1.0 + water) * math.exp(-math.sqrt(1.2 + 3.0 * water))
    sigma, leaf_emissivity = 5.670374e-8, 0.97
    loss = sky_view * (1 - clear_emissivity) * (1 - 0.84 * cloud) * leaf_emissivity * sigma * kelvin**4
    boundary = 29.3 * 1.4 * 0.135 * math.sqrt(leaf_wind_m_s / 0.03)
    return loss / (2.0 * (4.0 * leaf_emissivity * sigma * kelvin**3 + boundary))


LEUNING = (
    "Leuning & Cremer 1988, Agric. For. Meteorol. 42:121: leaves under a clear sky 1-3 C below the air beside them"
)
BALANCE = "a leaf's energy balance: Prata 1996 for the sky, Campbell & Norman 1998 for the air (from memory)"


@pytest.mark.parametrize("leaf_wind_m_s", [0.1, 0.25, 0.5, 1.0])
@outside(
    LEUNING,
    "the leaf balance that the next two rows lean on",
    within="1 to 3 C",
    because="the band that was measured",
    kind="measured",
)
def test_the_leaf_balance_gives_the_measured_drop(leaf_wind_m_s: float) -> None:
    """From hardly moving air to a metre a second at the leaf."""
    compare(leaf_balance_drop_c(1, 0, leaf_wind_m_s))


@pytest.mark.parametrize(("sky_view", "cloud"), [(1, 0), (1, 0.5), (1, 1), (0.5, 0), (0.25, 0), (0, 0)])
@outside(
    BALANCE,
    "drop from air to leaf by sky view and cloud, half a metre of wind a second at the leaf",
    within="0.1 C",
    because="the last digit of a forecast",
)
def test_the_leaf_drop_follows_the_leaf_balance(sky_view: float, cloud: float) -> None:
    """Calm at 10 m."""
    learned = spot_night(replace(OPEN_NIGHT, cloud_frac=float(cloud)), sky_view=sky_view, learned_c=0.0)
    compare(learned.air_low_c - learned.leaf_low_c, leaf_balance_drop_c(sky_view, cloud, 0.5))


@pytest.mark.parametrize("wind_m_s", [0.25, 1.0, 2.0, 3.0, 5.0, 8.0])
@outside(
    f"{BALANCE}; wind at 0.3 m is 0.415 of that at 10 m over short grass (FAO-56 roughness)",
    "drop from the forecast's air to the leaf in wind, over the leaf's alone",
    within="at least 0 C",
    because="never less cold than the balance: the screen is above the tray besides",
)
def test_wind_never_takes_the_drop_below_the_leaf_balance(wind_m_s: float) -> None:
    """From calm to a fresh breeze."""
    night = spot_night(replace(OPEN_NIGHT, wind_m_s=wind_m_s))
    compare(night.forecast_low_c - night.leaf_low_c - leaf_balance_drop_c(1, 0, 0.415 * wind_m_s))


@outside(
    LEUNING, "drop from air to leaf, clear and calm", within="1 to 3 C", because="their band", kind="measured"
)
def test_the_leaf_drop_lies_in_the_measured_band() -> None:
    """The table's number."""
    compare(load_night_model().leaf_drop_c)


@outside(
    "2.5 F between 6 and 2 ft (Univ. Florida IFAS Sumter Co. 2018), 4 F between 5 ft and 3 in (Univ. Vermont, by "
    "the Fairbanks Museum)",
    "drop from screen to tray, clear and calm",
    within="2.5 to 4 F",
    because="a tray stands between the two",
    kind="measured",
)
def test_the_drop_from_screen_to_tray_lies_in_the_measured_band() -> None:
    """The table's number."""
    compare(load_night_model().screen_to_tray_drop_c * 1.8)


@pytest.mark.parametrize(
    ("shelter_f", "cloud", "wind", "frost"), [(36, 0, 2, True), (33, 0, 2, True), (36, 1, 6, False)]
)
@outside(
    "US National Weather Service, frost advisories: frost at 33-36 F in the shelter, with light wind and a clear "
    "sky",
    "whether an open leaf freezes at 33 and 36 F, clear and calm, and at 36 F, overcast and windy",
    within="equal",
    because="frost or none",
)
def test_frost_advisory_weather_means_frost_at_an_open_leaf(
    shelter_f: float, cloud: float, wind: float, frost: bool
) -> None:
    """The shelter's air stays above freezing."""
    night = replace(OPEN_NIGHT, air_low_c=(shelter_f - 32) / 1.8, cloud_frac=float(cloud), wind_m_s=float(wind))
    compare(spot_night(night).leaf_low_c < 0.0, frost)


@pytest.mark.parametrize(
    ("sky_view", "cloud", "wind", "drop_c"),
    [
        (1, 0, 0, 3.5),
        (1, 1, 0, 0.56),
        (0.33, 0, 1, 1.155),
        (0.1, 0, 0, 0.35),
        (1, 0, 3, 2.275),
        (1, 0, 5, 1.05),
        (1, 0, 5.1, 0.7),
    ],
)
def test_the_drop_by_sky_cloud_and_wind(sky_view: float, cloud: float, wind: float, drop_c: float) -> None:
    """(2.0 + 1.5) x S, worked by hand (ours)."""
    night = spot_night(replace(OPEN_NIGHT, cloud_frac=float(cloud), wind_m_s=float(wind)), sky_view=sky_view)
    assert night.air_low_c - night.leaf_low_c == pytest.approx(drop_c)


SHARES = st.floats(0, 1)
WINDS = st.floats(0, 30)


@given(SHARES, SHARES, WINDS, SHARES, SHARES, WINDS)
def test_cloud_wind_and_less_sky_never_deepen_the_drop(
    sky: float, cloud: float, wind: float, less: float, more_cloud: float, more_wind: float
) -> None:
    """Each on its own and all together."""
    share = clear_calm_share(sky, cloud, wind)
    covered = min(cloud + more_cloud, 1.0)
    assert 0.0 <= share <= 1.0
    assert clear_calm_share(sky * less, cloud, wind) <= share
    assert clear_calm_share(sky, covered, wind) <= share
    assert clear_calm_share(sky, cloud, wind + more_wind) <= share
    assert clear_calm_share(sky * less, covered, wind + more_wind) <= share


def test_what_is_not_known_of_sky_cloud_and_wind_is_open_clear_and_calm() -> None:
    """NaN is taken as the worse case."""
    assert clear_calm_share(math.nan, math.nan, math.nan) == 1.0


# --- the spot -----------------------------------------------------------------------------------------------


def test_a_colder_spot_is_colder_in_the_air_and_at_the_leaf() -> None:
    """`colder` is a known offset: both limits feel it."""
    night = spot_night(colder_c=1.67)
    assert night.forecast_low_c == 3.0
    assert night.air_low_c == pytest.approx(1.33)
    assert night.leaf_low_c == pytest.approx(1.33 - 3.5)


def test_a_learned_offset_replaces_the_known_one_and_the_drop_to_the_tray() -> None:
    """It was measured at the tray; the leaf is still colder than its air."""
    night = spot_night(colder_c=1.67, learned_c=2.5)
    assert night.air_low_c == pytest.approx(0.5)
    assert night.leaf_low_c == pytest.approx(0.5 - 1.5)


@outside(
    "table of the normal distribution: 10 % lie 1.2816 standard deviations below the mean",
    "the low of one night in ten",
    within="0.001 C",
    because="the table's last digit",
)
def test_one_night_in_ten_is_colder() -> None:
    """Than what is said."""
    night = spot_night()
    compare(night.low_1_in_10_c, 3.0 - 1.2816 * night.sd_c)
    assert NormalDist(night.air_low_c, night.sd_c).cdf(night.low_1_in_10_c) == pytest.approx(0.1)


def test_the_spread_is_the_tables_for_the_lead() -> None:
    """No members, no other spread."""
    assert spot_night(lead_days=4.0).sd_c == low_spread_c(4)


@pytest.mark.parametrize("lead_days", [1.0, 5.0, 14.0])
def test_members_tell_the_spread_whatever_the_lead(lead_days: float) -> None:
    """Standard deviation of 0, 2, 4, 6, 8: sqrt(10), inflated 1.3 times, with 0.8 C of siting."""
    wide = spot_night(replace(OPEN_NIGHT, member_lows_c=(0.0, 2.0, 4.0, 6.0, 8.0)), lead_days=lead_days)
    assert wide.sd_c == pytest.approx(math.sqrt(1.3**2 * 10 + 0.8**2))


@pytest.mark.parametrize("lead_days", [1.0, 5.0])
def test_members_that_agree_are_never_surer_than_the_coming_night(lead_days: float) -> None:
    """They share one model's faults: no night is better known than the next one."""
    narrow = spot_night(replace(OPEN_NIGHT, member_lows_c=(2.9, 3.0, 3.0, 3.0, 3.1)), lead_days=lead_days)
    assert narrow.sd_c == low_spread_c(1)


def test_four_members_say_nothing() -> None:
    """Too few to tell a spread."""
    assert spot_night(replace(OPEN_NIGHT, member_lows_c=(-9.0, 0.0, 9.0, 18.0))).sd_c == low_spread_c(1)


def test_each_members_low_is_that_of_the_same_night() -> None:
    """Members with a hole in the night are left out."""
    hours = frame()
    members = pd.DataFrame({"a": 10.0, "b": 9.0, "c": 8.0}, index=hours.index)
    members.loc[pd.Timestamp(local(5, 5)).tz_convert("UTC"), "a"] = 4.0
    members.loc[pd.Timestamp(local(5, 12)).tz_convert("UTC"), "b"] = -4.0
    members.loc[pd.Timestamp(local(4, 22)).tz_convert("UTC"), "c"] = math.nan
    assert one(hours, members_c=members).member_lows_c == (4.0, 9.0)


def test_an_unknown_night_is_unknown_at_every_spot() -> None:
    """No numbers in, no numbers out."""
    unknown = replace(OPEN_NIGHT, known=False, air_low_c=None, cloud_frac=None, wind_m_s=None)
    assert at_spot(unknown, colder_c=0.0, sky_view=0.0, lead_days=1) is None


# --- the limits as the batch hardens --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("air", "limit_c"),
    [(0, 10.0), (4.5, 10.0), (5, 10.0), (8.5, 8.61), (12, 7.22), (14, 7.22)],
)
def test_check_falls_in_a_line_from_five_earned_days_to_the_rules_end(air: float, limit_c: float) -> None:
    """Tomato under twelve days: half-way between 10 and 7.22 C at 8.5."""
    assert check_below_c(TOMATO, 12, air) == pytest.approx(limit_c)


@pytest.mark.parametrize(("air", "limit_c"), [(0, -1.0), (5, -1.0), (6, -2.5), (7, -4.0)])
def test_harm_falls_with_it_for_hardy_crops(air: float, limit_c: float) -> None:
    """Kale under seven days."""
    assert harm_below_c(KALE, 7, air) == pytest.approx(limit_c)


def test_tender_crops_earn_no_frost_credit() -> None:
    """Tomato stays at 2 C."""
    assert {harm_below_c(TOMATO, 12, air) for air in range(14)} == {2.0}


@pytest.mark.parametrize(("air", "limit_c"), [(3.9, 10.0), (4, 7.22)])
def test_a_rule_shorter_than_five_days_lets_go_at_its_end(air: float, limit_c: float) -> None:
    """No line to draw: tender until it is over."""
    assert check_below_c(TOMATO, 4, air) == limit_c


# --- the verdict -----------------------------------------------------------------------------------------------

RISK = Risk()


def settled(air_c: float, leaf_c: float | None = None, sd_c: float = 1.8) -> SpotNight:
    return SpotNight(air_c, air_c, air_c if leaf_c is None else leaf_c, sd_c, air_c - 1.28 * sd_c)


@pytest.mark.parametrize(
    ("sd_c", "air_c", "odds"),
    [(1.2, 2, 0.048), (1.8, 2, 0.133), (2.5, 2, 0.212), (3.5, 2, 0.284), (1.8, 0, 0.5), (1.8, 3, 0.048)],
)
@outside(
    "table of the normal distribution, e.g. 0.1335 at 1.11",
    "odds of a low at or below 0 C",
    within="0.0005",
    because="taken to three digits",
)
def test_odds_are_those_of_a_normal_error(sd_c: float, air_c: float, odds: float) -> None:
    """The table at air / sd."""
    found = judge(settled(air_c, sd_c=sd_c), check_below_c=0.0, harm_below_c=0.0, risk=RISK, cover_c=None)
    compare(found.odds_check, odds)
    assert found.odds_check == pytest.approx(NormalDist(air_c, sd_c).cdf(0.0))
    assert found.odds_harm == found.odds_check


@pytest.mark.parametrize(("air_c", "verdict"), [(10.0, "out"), (9.99, "in"), (12.0, "out")])
def test_check_brings_in_below_its_limit(air_c: float, verdict: str) -> None:
    """At the limit the odds are even: 'below 50 F' does not mean 50 F."""
    found = judge(settled(air_c), check_below_c=10.0, harm_below_c=-50.0, risk=RISK, cover_c=None)
    assert found.verdict == verdict


@pytest.mark.parametrize(("leaf_c", "verdict"), [(4.31, "out"), (4.30, "in")])
def test_harm_brings_in_at_one_in_ten(leaf_c: float, verdict: str) -> None:
    """2 C and 1.2816 x 1.8 C: 4.307 C at the leaf."""
    found = judge(settled(20.0, leaf_c), check_below_c=-50.0, harm_below_c=2.0, risk=RISK, cover_c=None)
    assert found.verdict == verdict


def test_the_grower_sets_the_odds() -> None:
    """The same night under a bolder and a more careful hand."""
    night = settled(10.5, 3.5)
    limits = {"check_below_c": 10.0, "harm_below_c": 2.0}
    assert judge(night, **limits, risk=Risk(harm=0.3), cover_c=None).verdict == "out"
    assert judge(night, **limits, risk=Risk(harm=0.3, check=0.3), cover_c=None).verdict == "in"
    assert judge(night, **limits, risk=RISK, cover_c=None).verdict == "in"


@pytest.mark.parametrize(
    ("air_c", "cover_c", "verdict"),
    [(10.0, 2.0, "out"), (9.0, 2.0, "cover"), (9.0, 0.0, "in"), (7.9, 2.0, "in"), (9.0, None, "in")],
)
def test_a_cover_where_it_makes_the_difference(air_c: float, cover_c: float | None, verdict: str) -> None:
    """Never where it is not needed, not enough, or not there."""
    found = judge(settled(air_c), check_below_c=10.0, harm_below_c=-50.0, risk=RISK, cover_c=cover_c)
    assert found.verdict == verdict


def test_odds_are_told_without_the_cover() -> None:
    """What the cover is up against."""
    found = judge(settled(9.0), check_below_c=10.0, harm_below_c=-50.0, risk=RISK, cover_c=2.0)
    assert (found.verdict, found.odds_check) == ("cover", pytest.approx(NormalDist(9.0, 1.8).cdf(10.0)))


@pytest.mark.parametrize(("forecast_f", "verdict"), [(30, "cover"), (29.9, "in")])
def test_no_cover_is_trusted_below_thirty_degrees_fahrenheit(forecast_f: float, verdict: str) -> None:
    """Oregon State Univ. trials, 1983-88: on some clear nights no warmer under a cover than in the open."""
    night = settled((forecast_f - 32) / 1.8)
    found = judge(night, check_below_c=0.0, harm_below_c=-50.0, risk=RISK, cover_c=5.0)
    assert found.verdict == verdict


def test_a_cover_must_also_clear_harm() -> None:
    """2 C more at the leaf is not enough here, 3 C is."""
    night = settled(20.0, 1.5)
    verdicts = [
        judge(night, check_below_c=10.0, harm_below_c=2.0, risk=RISK, cover_c=gain).verdict for gain in (2.0, 3.0)
    ]
    assert verdicts == ["in", "cover"]


@pytest.mark.parametrize("night", [None, settled(math.nan), settled(20.0, math.nan), settled(20.0, sd_c=math.nan)])
def test_unknown_is_never_out(night: SpotNight | None) -> None:
    """Whatever the limits, the odds and the cover."""
    found = judge(night, check_below_c=-50.0, harm_below_c=-50.0, risk=Risk(check=1.0, harm=1.0), cover_c=9.0)
    assert (found.verdict, found.odds_check, found.odds_harm) == ("unknown", None, None)


OUTWARD = {"in": 0, "cover": 1, "out": 2}
TEMPERATURES = st.floats(-15, 25)
COVERS = st.none() | st.floats(0, 5)


@given(
    TEMPERATURES,
    st.floats(0, 10),
    SHARES,
    SHARES,
    WINDS,
    st.integers(1, 14),
    COVERS,
    st.sampled_from([TOMATO, KALE]),
)
def test_a_colder_night_never_turns_a_verdict_outward(
    low_c: float, colder_c: float, sky: float, cloud: float, wind: float, lead: int, cover_c: float | None, crop
) -> None:
    """Same sky, same spot, same lead."""

    def verdict(air_low_c: float) -> int:
        night = replace(OPEN_NIGHT, air_low_c=air_low_c, cloud_frac=cloud, wind_m_s=wind)
        found = judge(
            spot_night(night, sky_view=sky, lead_days=lead),
            check_below_c=crop.check_below_hardened_c,
            harm_below_c=crop.harm_below_hardened_c,
            risk=RISK,
            cover_c=cover_c,
        )
        return OUTWARD[found.verdict]

    assert verdict(low_c - colder_c) <= verdict(low_c)


@given(TEMPERATURES, st.floats(0, 15), st.integers(1, 14), st.integers(0, 10))
def test_more_lead_never_lowers_the_odds_of_harm_above_the_limit(
    limit_c: float, above_c: float, lead: int, later: int
) -> None:
    """The farther off a mild night, the less it is to be trusted."""

    def odds(lead_days: int) -> float:
        night = spot_night(replace(OPEN_NIGHT, air_low_c=limit_c + above_c), sky_view=0.0, lead_days=lead_days)
        found = judge(night, check_below_c=-50.0, harm_below_c=limit_c, risk=RISK, cover_c=None).odds_harm
        assert found is not None
        return found

    assert odds(lead + later) >= odds(lead) - 1e-12


@given(st.lists(st.floats(-20, 25), min_size=12, max_size=12), st.floats(0, 10))
def test_a_night_shifted_down_has_a_low_shifted_down(temperatures_c: list[float], shift_c: float) -> None:
    """And the same cloud and wind, whatever the shape of the night."""

    def night(shift: float) -> NightWeather:
        hours = frame()
        stretch = pd.date_range(local(4, 20), periods=12, freq="h").tz_convert("UTC")
        hours.loc[stretch, "air_temperature_c"] = [round(value, 2) - shift for value in temperatures_c]
        return one(hours)

    warm, cold = night(0.0), night(round(shift_c, 2))
    assert warm.air_low_c is not None
    assert cold.air_low_c == pytest.approx(warm.air_low_c - round(shift_c, 2))
    assert warm.air_low_c == pytest.approx(min(round(value, 2) for value in temperatures_c))


@pytest.mark.parametrize(("evening", "lead"), [(3, 1), (4, 1), (5, 2), (19, 16)])
def test_lead_counts_nights_from_the_coming_one(evening: int, lead: int) -> None:
    """The running night of yesterday evening is as near as tonight."""
    assert lead_days(date(2027, 5, 4), date(2027, 5, evening)) == lead
