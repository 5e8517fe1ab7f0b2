"""The sun's place, its rising and setting, and the clear sky, against published tables and other suns."""

from __future__ import annotations

import math
import subprocess
import sys
from datetime import UTC, date, datetime, time, timedelta, timezone
from zoneinfo import ZoneInfo

import astral
import astral.sun
import ephem
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from validation import compare, outside

from hardenoff.records import Place
from hardenoff.sun.position import Sky, day_span, declination_deg, rise_set, rise_sets, sky


def place(latitude: float, longitude: float, zone: str, elevation_m: float | None = 0.0) -> Place:
    return Place("test", latitude, longitude, elevation_m, zone)


def moment(where: Place, at: datetime):
    """The sun at one instant: the middle of a one-minute step."""
    return sky(where, at - timedelta(seconds=30), at + timedelta(seconds=30), 1)


def observer(where: Place, at: datetime) -> ephem.Observer:
    watcher = ephem.Observer()
    watcher.lat, watcher.lon = str(where.latitude), str(where.longitude)
    watcher.elevation = 0
    watcher.date = at.astimezone(UTC).replace(tzinfo=None)
    return watcher


# --- the sun's place -------------------------------------------------------------------------------

NREL = "Reda & Andreas 2008, NREL/TP-560-34302"
GOLDEN = place(39.742476, -105.1786, "America/Denver", 1830.14)
EXAMPLE = datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))


@outside(
    f"{NREL}, worked example A.5: 50.11162 deg",
    "zenith of the sun",
    within="0.0005 deg",
    because="the example has 820 hPa and 11 C, we the standard atmosphere of that height: 0.0003 deg of "
    "refraction",
)
def test_zenith_of_the_worked_example() -> None:
    """The height of the sun at one instant, refraction included."""
    compare(90.0 - moment(GOLDEN, EXAMPLE).elevation_deg[0], 50.11162)


@outside(
    f"{NREL}, worked example A.5: 194.34024 deg",
    "bearing of the sun",
    within="0.0001 deg",
    because="the last digits that are printed",
)
def test_bearing_of_the_worked_example() -> None:
    """The bearing at the same instant."""
    compare(moment(GOLDEN, EXAMPLE).azimuth_deg[0], 194.34024)


@outside(
    f"{NREL}, worked example A.5: -9.31434 deg",
    "declination",
    within="0.003 deg",
    because="theirs is seen from the earth's centre, ours from the place: 0.002 deg",
)
def test_declination_of_the_worked_example() -> None:
    """How far south of the equator the sun stands in that October."""
    compare(declination_deg(GOLDEN, [EXAMPLE])[0], -9.31434)


FIVE_SUNS = pytest.mark.parametrize(
    ("where", "at", "elevation", "azimuth"),
    [
        (place(59.91, 10.75, "Europe/Oslo"), datetime(2026, 4, 25, 9, tzinfo=UTC), 37.1604, 137.2769),
        (place(51.45, -0.97, "Europe/London"), datetime(2026, 5, 10, 7, tzinfo=UTC), 22.9574, 90.1959),
        (place(39.74, -104.98, "America/Denver"), datetime(2026, 5, 15, 20, tzinfo=UTC), 65.1413, 218.1303),
        (place(-0.18, -78.47, "America/Guayaquil"), datetime(2026, 3, 20, 15, tzinfo=UTC), 54.6782, 89.7391),
        (place(-43.53, 172.63, "Pacific/Auckland"), datetime(2026, 10, 20, 22, tzinfo=UTC), 46.0970, 51.5796),
    ],
    ids=["Oslo", "Reading", "Denver", "Quito", "Christchurch"],
)


@FIVE_SUNS
@outside(
    "ephem 4.2 and astropy 8.0, worked out once (they agree to 0.0003 deg), lifted by Saemundsson 1986",
    "height of the sun, refraction included",
    within="0.002 deg",
    because="two formulas for refraction differ by so much from 23 to 65 deg",
    kind="library",
)
def test_height_against_other_ephemerides(where: Place, at: datetime, elevation: float, azimuth: float) -> None:
    """Five places from 60 N to 43 S."""
    lifted = elevation + 1.02 / 60 / math.tan(math.radians(elevation + 10.3 / (elevation + 5.11)))
    compare(moment(where, at).elevation_deg[0], lifted)


@FIVE_SUNS
@outside(
    "ephem 4.2 and astropy 8.0, worked out once (they agree to 0.0003 deg)",
    "bearing of the sun",
    within="0.0005 deg",
    because="theirs are so far apart, and printed to 0.0001",
    kind="library",
)
def test_bearing_against_other_ephemerides(where: Place, at: datetime, elevation: float, azimuth: float) -> None:
    """The same five."""
    compare(moment(where, at).azimuth_deg[0], azimuth)


anywhere = given(
    latitude=st.floats(-65, 65), longitude=st.floats(-180, 180), minute=st.integers(0, 5 * 365 * 24 * 60)
)
drawn_alike = settings(max_examples=60, deadline=None, derandomize=True)


def sun_up(latitude: float, longitude: float, minute: int) -> tuple[Place, datetime, Sky]:
    """Somewhere, some minute of 2025 to 2029, with the sun between 10 and 85 degrees."""
    where = place(latitude, longitude, "UTC")
    at = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(minutes=minute)
    seen = moment(where, at)
    assume(10.0 < seen.elevation_deg[0] < 85.0)
    return where, at, seen


@outside(
    "ephem (VSOP87), with its own refraction",
    "height and bearing of the sun anywhere up to 65 degrees of latitude",
    within="0.01 deg",
    because="two formulas for refraction differ by 0.003 deg at 10 deg of height; a compass is a thousand times "
    "worse",
    kind="library",
)
@drawn_alike
@anywhere
def test_position_agrees_with_ephem_anywhere(latitude: float, longitude: float, minute: int) -> None:
    """Both as angles on the sky: a bearing counts for less the higher the sun."""
    where, at, seen = sun_up(latitude, longitude, minute)
    watcher = observer(where, at)
    watcher.pressure, watcher.temp = 1013.25, 12
    sun = ephem.Sun(watcher)
    compare(seen.elevation_deg[0], math.degrees(sun.alt))
    turn = (seen.azimuth_deg[0] - math.degrees(sun.az) + 180) % 360 - 180
    compare(turn * math.cos(sun.alt), 0.0)


@outside(
    "astral (the short formulas after Meeus)",
    "height of the sun anywhere up to 65 degrees of latitude",
    within="0.05 deg",
    because="astral's formula is good to 0.02 deg, its refraction to 0.01",
    kind="library",
)
@drawn_alike
@anywhere
def test_position_agrees_with_astral_anywhere(latitude: float, longitude: float, minute: int) -> None:
    """A second library, which shares no code with the first."""
    _, at, seen = sun_up(latitude, longitude, minute)
    compare(seen.elevation_deg[0], astral.sun.elevation(astral.Observer(latitude, longitude), at))


# --- sunrise and sunset ----------------------------------------------------------------------------

BOULDER = place(39.0, -105.0, "Etc/GMT+7")
BEIJING = place(39.917, 116.383, "Asia/Shanghai")


@pytest.mark.parametrize(
    ("where", "on", "sunrise", "sunset"),
    [
        (BOULDER, date(2015, 1, 2), "07:19", "16:49"),
        (BOULDER, date(2015, 4, 2), "05:43", "18:24"),
        (BOULDER, date(2015, 8, 2), "05:01", "19:10"),
        (BOULDER, date(2015, 12, 2), "07:01", "16:38"),
        (BEIJING, date(2015, 1, 2), "07:36", "17:00"),
        (BEIJING, date(2015, 4, 2), "05:58", "18:39"),
        (BEIJING, date(2015, 8, 2), "05:13", "19:28"),
        (BEIJING, date(2015, 12, 2), "07:17", "16:50"),
    ],
)
@outside(
    "US Naval Observatory, tables of sunrise and sunset for 2015",
    "sunrise and sunset at 39 N 105 W and in Beijing",
    within="32 s",
    because="printed to the minute: half a minute, and two seconds",
)
def test_almanac_table(where: Place, on: date, sunrise: str, sunset: str) -> None:
    """pvlib's own routine is a minute off in five of these sixteen, where the event falls on another UTC date."""
    sun = rise_set(where, on)
    for found, printed in ((sun.sunrise, sunrise), (sun.sunset, sunset)):
        compare(found, datetime.combine(on, time.fromisoformat(printed), tzinfo=where.tz))


@pytest.mark.parametrize(
    ("on", "latitude", "sunrise", "sunset"),
    [
        (date(1994, 1, 2), 35.0, "07:08:12", "16:59:55"),
        (date(1996, 7, 5), -35.0, "07:08:15", "17:01:04"),
        (date(2004, 12, 4), -35.0, "04:38:57", "19:02:02"),
    ],
)
@outside(
    f"{NREL}, table of rise and set examples",
    "sunrise and sunset at longitude 0",
    within="3 s",
    because="their seconds are cut off, not rounded; theirs take another difference of clock and earth's turn",
)
def test_rise_and_set_examples_of_the_nrel_report(on: date, latitude: float, sunrise: str, sunset: str) -> None:
    """Both hemispheres, winter and summer, UTC."""
    sun = rise_set(place(latitude, 0.0, "UTC"), on)
    for found, printed in ((sun.sunrise, sunrise), (sun.sunset, sunset)):
        compare(found, datetime.combine(on, time.fromisoformat(printed), tzinfo=UTC))


def ephem_rise_set(where: Place, on: date) -> tuple[datetime | None, datetime | None]:
    """First rise and first set after local midnight by ephem, horizon -0:34, upper limb, no pressure."""
    start, end = day_span(where, on)
    found = []
    for event in ("next_rising", "next_setting"):
        watcher = observer(where, start)
        watcher.pressure, watcher.horizon = 0, "-0:34"
        try:
            at = getattr(watcher, event)(ephem.Sun()).datetime().replace(tzinfo=UTC)
        except ephem.CircumpolarError:
            found.append(None)
        else:
            found.append(at if at < end else None)
    return found[0], found[1]


ZONES = (
    ("America/Los_Angeles", -118.2),
    ("America/Anchorage", -149.9),
    ("Asia/Tokyo", 139.7),
    ("Pacific/Auckland", 172.6),
    ("Asia/Kolkata", 77.2),
    ("Australia/Adelaide", 138.6),
    ("Pacific/Kiritimati", -157.4),
    ("Europe/London", 0.0),
)


@outside(
    "ephem, horizon -0:34, no pressure",
    "sunrise and sunset of the local date, up to 62 degrees, in zones all round the world",
    within="20 s",
    because="near 62 degrees the sun cuts the horizon at a slant: 0.005 deg are ten seconds and more",
    kind="library",
)
@drawn_alike
@given(
    latitude=st.floats(-62, 62),
    zone=st.sampled_from(ZONES),
    on=st.dates(date(2025, 1, 1), date(2030, 1, 1)),
)
def test_rise_and_set_agree_with_ephem_on_the_local_date(
    latitude: float, zone: tuple[str, float], on: date
) -> None:
    """The events of that date, not of the neighbouring one."""
    where = place(latitude, zone[1], zone[0])
    sun = rise_set(where, on)
    for found, other in zip((sun.sunrise, sun.sunset), ephem_rise_set(where, on), strict=True):
        assert found is not None
        compare(found, other)
        assert found.astimezone(where.tz).date() == on


@outside(
    "astral",
    "sunrise and sunset in Denver on a day on which pvlib's own routine is a minute off",
    within="30 s",
    because="astral's formula is up to 0.02 deg off, a tenth of a minute, and rounds the radius of the sun",
    kind="library",
)
def test_rise_and_set_agree_with_astral() -> None:
    """15 May 2026, sunset on another UTC date than the local one."""
    denver = place(39.74, -104.98, "America/Denver")
    other = astral.sun.sun(astral.Observer(39.74, -104.98), date=date(2026, 5, 15), tzinfo=denver.tz)
    sun = rise_set(denver, date(2026, 5, 15))
    compare(sun.sunrise, other["sunrise"])
    compare(sun.sunset, other["sunset"])


TROMSO = place(69.65, 18.96, "Europe/Oslo")


def test_polar_day_and_night_have_no_events() -> None:
    """The sun is up all of a June date in Tromso and down all of a December date."""
    june, december = rise_set(TROMSO, date(2026, 6, 10)), rise_set(TROMSO, date(2026, 12, 10))
    assert (june.sunrise, june.sunset, june.always) == (None, None, "up")
    assert (december.sunrise, december.sunset, december.always) == (None, None, "down")


@outside(
    "ephem",
    "which dates round the start of Tromso's polar day have a sunrise, which a sunset",
    within="equal",
    because="an event is there or not",
    kind="library",
)
def test_a_date_can_have_a_sunrise_and_no_sunset() -> None:
    """Round the start of the polar day some dates have one event only; ephem agrees date by date."""
    first, last = date(2026, 5, 14), date(2026, 5, 22)
    found = rise_sets(TROMSO, first, last)
    half = [sun for sun in found.values() if (sun.sunrise is None) != (sun.sunset is None)]
    assert half
    assert all(sun.always is None for sun in half)
    for on, sun in found.items():
        other = ephem_rise_set(TROMSO, on)
        compare([event is None for event in (sun.sunrise, sun.sunset)], [event is None for event in other])


def test_of_two_sunsets_of_one_date_the_evening_one_counts() -> None:
    """Late in July Tromso's sunset moves back over midnight: on the 27th the sun sets at both ends."""
    on = date(2026, 7, 27)
    start, _ = day_span(TROMSO, on)
    _, first_by_ephem = ephem_rise_set(TROMSO, on)
    sun = rise_set(TROMSO, on)
    assert first_by_ephem is not None
    assert first_by_ephem - start < timedelta(hours=1)
    assert sun.sunset is not None
    assert sun.sunset.hour == 23
    assert sun.sunrise is not None
    assert sun.sunrise.hour == 1


@outside(
    "the almanacs' definition of sunrise: 34' of refraction and 16' of radius (Astronomical Almanac, from memory)",
    "height of the sun's centre, by ephem and without air, when ours rises and sets",
    within="0.005 deg",
    because="a second of time is 0.004 deg; ours are whole seconds",
)
@drawn_alike
@given(latitude=st.floats(-66, 66), on=st.dates(date(2025, 1, 1), date(2030, 1, 1)))
def test_at_rise_and_set_the_centre_is_50_minutes_of_arc_down(latitude: float, on: date) -> None:
    """Up to the polar circles."""
    where = place(latitude, 15.0, "Europe/Berlin")
    sun = rise_set(where, on)
    for event in (sun.sunrise, sun.sunset):
        if event is not None:
            watcher = observer(where, event)
            watcher.pressure = 0
            compare(math.degrees(ephem.Sun(watcher).alt), -50 / 60)


def test_one_date_alone_or_within_many_is_the_same() -> None:
    """`rise_sets` over eighteen days gives what `rise_set` gives for each, to a second."""
    where = place(40.01, -83.02, "America/New_York")
    many = rise_sets(where, date(2027, 3, 6), date(2027, 3, 23))
    assert len(many) == 18
    for on, sun in many.items():
        alone = rise_set(where, on)
        assert sun.sunrise is not None
        assert alone.sunrise is not None
        assert abs((sun.sunrise - alone.sunrise).total_seconds()) <= 1
        assert sun.sunrise.tzinfo == ZoneInfo("America/New_York")


def test_clock_change_moves_the_label_of_sunrise_not_the_sun() -> None:
    """Sunrise after the change reads an hour later than the day before; just under 24 hours have passed."""
    where = place(40.01, -83.02, "America/New_York")
    sun = rise_sets(where, date(2027, 3, 13), date(2027, 3, 14))
    before, after = sun[date(2027, 3, 13)].sunrise, sun[date(2027, 3, 14)].sunrise
    assert before is not None
    assert after is not None
    assert (after.hour, before.hour) == (7, 6)
    passed = after.astimezone(UTC) - before.astimezone(UTC)
    assert timedelta(hours=23, minutes=57) < passed < timedelta(hours=24)


# --- days and steps --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "on", "hours"),
    [
        ("America/New_York", date(2027, 3, 14), 23),
        ("America/New_York", date(2027, 11, 7), 25),
        ("Australia/Adelaide", date(2027, 10, 3), 23),
        ("Australia/Lord_Howe", date(2027, 10, 3), 23.5),
        ("Asia/Kolkata", date(2027, 3, 14), 24),
        ("America/Santiago", date(2027, 9, 5), 23),
    ],
)
def test_length_of_a_local_day(zone: str, on: date, hours: float) -> None:
    """Days of clock changes have 23, 23.5 or 25 hours; in Chile the lost hour is the one after midnight."""
    start, end = day_span(place(0.0, 0.0, zone), on)
    assert (end - start) == timedelta(hours=hours)


def test_steps_are_sampled_in_their_middle() -> None:
    """The first 5-minute step from 06:00 stands for 06:02:30, the last before 07:00 for 06:57:30."""
    day = sky(BOULDER, datetime(2027, 5, 1, 6, tzinfo=UTC), datetime(2027, 5, 1, 7, tzinfo=UTC))
    assert len(day.times) == len(day.elevation_deg) == len(day.dni_extra_w_m2) == 12
    assert day.times[0] == datetime(2027, 5, 1, 6, 2, 30, tzinfo=UTC)
    assert day.times[-1] == datetime(2027, 5, 1, 6, 57, 30, tzinfo=UTC)


def test_steps_count_real_time_over_a_clock_change() -> None:
    """Midnight to midnight of a 23-hour day is 276 steps of 5 minutes, also when told in the place's own clock."""
    zone = ZoneInfo("America/New_York")
    where = place(40.01, -83.02, "America/New_York")
    day = sky(where, datetime(2027, 3, 14, tzinfo=zone), datetime(2027, 3, 15, tzinfo=zone))
    assert len(day.times) == 276


def test_a_time_without_zone_is_refused() -> None:
    """A naive time could be the machine's: an error, not a guess."""
    with pytest.raises(ValueError, match="no zone"):
        sky(BOULDER, datetime(2027, 5, 1, 6), datetime(2027, 5, 1, 7))  # noqa: DTZ001


# --- the clear sky ---------------------------------------------------------------------------------


def test_clear_sky_is_dark_at_night_and_closes_by_day() -> None:
    """Zero with the sun down; by day global = beam x cos z + diffuse, the beam below the sun above the air."""
    where = place(51.45, -0.97, "Europe/London", 60.0)
    day = sky(where, *day_span(where, date(2026, 5, 10)))
    down = day.elevation_deg <= 0
    assert down.any()
    assert not day.dni_clear_w_m2[down].any()
    assert not day.ghi_clear_w_m2[down].any()
    np.testing.assert_allclose(
        day.ghi_clear_w_m2, day.dni_clear_w_m2 * day.cos_zenith + day.dhi_clear_w_m2, atol=1e-6
    )
    assert (day.dni_clear_w_m2 < day.dni_extra_w_m2).all()


@pytest.mark.parametrize(
    ("where", "on", "megajoule"),
    [
        (place(59.91, 10.75, "Europe/Oslo", 0.0), date(2026, 5, 10), 23.6),
        (place(51.45, -0.97, "Europe/London", 60.0), date(2026, 5, 10), 24.7),
        (place(39.74, -104.98, "America/Denver", 1609.0), date(2026, 5, 10), 30.4),
        (place(33.75, -84.39, "America/New_York", 300.0), date(2026, 4, 10), 24.9),
    ],
    ids=["Oslo", "Reading", "Denver", "Atlanta"],
)
@outside(
    "sums worked out once by pvlib alone, Ineichen's model with its own turbidity map",
    "global radiation of a clear day",
    within="1 %",
    because="theirs took steps of a minute; the map of the next version may differ a little",
    kind="library",
)
def test_clear_day_against_sums_worked_out_once(where: Place, on: date, megajoule: float) -> None:
    """MJ/m2 of a level surface."""
    compare(sky(where, *day_span(where, on)).ghi_clear_w_m2.sum() * 300 / 1e6, megajoule)


@pytest.mark.parametrize("on", [date(2027, month, 15) for month in range(1, 13)], ids=lambda on: f"{on:%b}")
@outside(
    "Haurwitz 1945, J. Meteorol. 2:154, measured under cloudless skies at Blue Hill (coefficients from memory)",
    "global radiation of a clear day at 42 N, every month",
    within="12 %",
    because="turbidity differs by month, his curve has none; models differ by about a tenth (Reno et al. 2012)",
)
def test_clear_day_against_haurwitz(on: date) -> None:
    """Another form, of another century: 1098 cos z exp(-0.059 / cos z)."""
    blue_hill = place(42.21, -71.11, "America/New_York", 195.0)
    day = sky(blue_hill, *day_span(blue_hill, on))
    up = day.cos_zenith[day.cos_zenith > 0.0]
    compare(day.ghi_clear_w_m2.sum(), (1098.0 * up * np.exp(-0.059 / up)).sum())


def test_a_place_without_elevation_is_at_sea_level() -> None:
    """Unknown elevation counts as 0 m."""
    span = (datetime(2027, 5, 1, 10, tzinfo=UTC), datetime(2027, 5, 1, 14, tzinfo=UTC))
    unknown, sea = sky(place(50, 8, "UTC", None), *span), sky(place(50, 8, "UTC", 0.0), *span)
    np.testing.assert_array_equal(unknown.dni_clear_w_m2, sea.dni_clear_w_m2)


@pytest.mark.parametrize("latitude", [90.0, -90.0])
def test_the_poles_work(latitude: float) -> None:
    """Bearing is arbitrary there, height and light are not: all finite."""
    day = sky(place(latitude, 180.0, "UTC"), datetime(2027, 6, 21, tzinfo=UTC), datetime(2027, 6, 22, tzinfo=UTC))
    assert np.isfinite(day.elevation_deg).all()
    assert np.isfinite(day.dni_clear_w_m2).all()
    assert (day.elevation_deg > 0).all() == (latitude > 0)


def test_importing_the_package_loads_nothing_heavy() -> None:
    """`import hardenoff.sun` brings no numpy, pandas or pvlib; its modules bring no pvlib until they are asked."""
    code = (
        "import sys, hardenoff.sun; assert not {'numpy', 'pandas', 'pvlib'} & set(sys.modules);"
        "import hardenoff.sun.light, hardenoff.sun.windows; assert 'pvlib' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
