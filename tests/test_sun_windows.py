"""One day at a spot: golden days, clock changes, polar days, the band of a misjudged spot."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import pytest
from sun_spots import DENVER, ENDLESS, LINCOLN, OAK, READING, canopy, seen, spot
from validation import compare, outside

from hardenoff.records import Place, Tree, Wall
from hardenoff.sun.light import spot_light
from hardenoff.sun.position import day_span, rise_set, sky
from hardenoff.sun.windows import band, season, sun_day, sun_days

READING_DAY, DENVER_DAY = date(2026, 5, 10), date(2026, 5, 15)
TROMSO = Place("Tromso", 69.65, 18.96, 10.0, "Europe/Oslo")


def long_wall(towards_deg: float) -> Wall:
    """So near and so high that only the other half of the sky is left."""
    return Wall(towards_deg, 0.001, ENDLESS)


SUMMER_OAK = Tree(200.0, 250.0, 0.0, 50.0, leafy=0.18, bare=0.52, leaf_out=(4, 1), leaf_fall=(11, 1))
GOLDEN = {
    "open": (spot(), (15.283, 13.617, 19.49), (14.317, 13.450, 25.53)),
    "even skyline of 15": (spot(skyline=((0.0, 15.0),)), (11.750, 11.750, 19.12), (11.483, 11.483, 25.06)),
    "long wall behind, to the south": (
        spot(walls=(long_wall(0),)),
        (10.033, 10.033, 18.15),
        (8.733, 8.733, 22.37),
    ),
    "long wall behind, to the east": (spot(walls=(long_wall(270),)), (7.633, 6.800, 9.73), (7.150, 6.717, 12.75)),
    "long wall behind, to the north": (spot(walls=(long_wall(180),)), (5.250, 3.583, 1.34), (5.583, 4.717, 3.17)),
    "porch to the south": (spot(roof=canopy(2.2, 1.5, 180.0)), (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)),
    "porch to the east": (spot(roof=canopy(2.2, 1.5, 90.0)), (5.500, 4.667, 4.87), (4.800, 4.367, 5.75)),
    "fence": (spot(walls=(Wall(90.0, 2.0, 1.6, 3.0, 3.0),)), (11.117, 10.283, 17.03), (10.850, 10.417, 22.82)),
    "tree in leaf": (spot(trees=(SUMMER_OAK,)), (13.944, 12.277, 16.99), (14.317, 13.450, 25.53)),
    "tree, bare": (
        spot(trees=(replace(SUMMER_OAK, leaf_out=(6, 1)),)),
        (14.499, 12.833, 18.02),
        (14.317, 13.450, 25.53),
    ),
}


GOLDEN_DAYS = pytest.mark.parametrize(
    ("place", "on", "which"), [(READING, READING_DAY, 1), (DENVER, DENVER_DAY, 2)], ids=["Reading", "Denver"]
)
ONCE = "other code, by ephem and by SPA (which agreed to the minute), worked out once"


@pytest.mark.parametrize("name", GOLDEN)
@GOLDEN_DAYS
@outside(
    ONCE,
    "hours of sun and hours over 120 W/m2 at ten spots, in Reading on 10 May and in Denver on 15 May",
    within="0.018 h",
    because="steps of a minute: one at either end may fall otherwise",
    kind="anew",
)
def test_golden_days(name: str, place: Place, on: date, which: int) -> None:
    """Weighted by the share that passes."""
    visible, direct, _ = GOLDEN[name][which]
    answer = sun_day(GOLDEN[name][0], place, on)
    compare(sum((w.end - w.start).total_seconds() / 3600 * w.share for w in answer.windows), visible)
    compare(answer.direct_sun_hours, direct)


@pytest.mark.parametrize("name", GOLDEN)
@GOLDEN_DAYS
@outside(
    ONCE,
    "energy of the clear sky's beam at the same spots, on a level surface",
    within="0.02 MJ/m2",
    because="a minute of midday sun is 0.05 MJ, at an edge half of it either way; printed to 0.01",
    kind="anew",
)
def test_beam_of_golden_days(name: str, place: Place, on: date, which: int) -> None:
    """What of it arrives."""
    day = sky(place, *day_span(place, on), 1)
    arriving = spot_light(GOLDEN[name][0], place, day, None).share * day.dni_clear_w_m2 * day.cos_zenith
    compare(arriving.sum() * 60 / 1e6, GOLDEN[name][which][2])


def test_five_minute_steps_are_fine_enough() -> None:
    """With an edge in play, 5-minute steps give the direct hours of 1-minute steps within 0.15 h."""
    for what, *_ in GOLDEN.values():
        five = spot_light(what, READING, sky(READING, *day_span(READING, READING_DAY)), None)
        one = sun_day(what, READING, READING_DAY).direct_sun_hours
        assert five.sun_if_clear_h.sum() == pytest.approx(one, abs=0.15)


def test_a_window_ends_where_the_share_changes() -> None:
    """An afternoon tree cuts the day into sun, dapple and sun again, without a gap, in local time."""
    windows = sun_day(GOLDEN["tree in leaf"][0], READING, READING_DAY).windows
    assert [window.share for window in windows] == [1.0, 0.18, 1.0]
    assert windows[0].end == windows[1].start
    assert windows[1].end == windows[2].start
    assert windows[0].start.utcoffset() == timedelta(hours=1)
    assert all(edge.second == 0 for window in windows for edge in (window.start, window.end))


def test_an_open_day_runs_from_sunrise_to_sunset() -> None:
    """From a few minutes after almanac sunrise to a few before sunset: the centre, not the upper edge."""
    (window,) = sun_day(spot(), READING, READING_DAY).windows
    sun = rise_set(READING, READING_DAY)
    assert sun.sunrise is not None
    assert sun.sunset is not None
    assert timedelta(0) < window.start - sun.sunrise < timedelta(minutes=4)
    assert timedelta(0) < sun.sunset - window.end < timedelta(minutes=4)


@pytest.mark.parametrize(
    ("place", "on"),
    [
        (Place("Ohio", 40.0, -83.0, 240.0, "America/New_York"), date(2027, 3, 14)),
        (Place("Ohio", 40.0, -83.0, 240.0, "America/New_York"), date(2027, 11, 7)),
        (Place("Adelaide", -34.93, 138.6, 50.0, "Australia/Adelaide"), date(2027, 4, 4)),
        (LINCOLN, date(2027, 9, 26)),
    ],
)
def test_clock_changes_do_not_change_the_sun(place: Place, on: date) -> None:
    """Days of 23 and 25 hours have the sun of the days beside them, on the new clock."""
    before, change, after = (sun_day(spot(), place, on + timedelta(days=n)) for n in (-1, 0, 1))
    assert change.direct_sun_hours == pytest.approx(
        (before.direct_sun_hours + after.direct_sun_hours) / 2, abs=0.03
    )
    assert change.windows[0].start.utcoffset() == after.windows[0].start.utcoffset()
    assert change.windows[0].start.utcoffset() != before.windows[0].start.utcoffset()
    assert change.windows[0].start.date() == on


def test_a_half_hour_zone_keeps_its_own_day() -> None:
    """In Kolkata (UTC+5:30) the day's one window starts at sunrise, 05:01 local, and not in the evening before."""
    kolkata = Place("Kolkata", 22.57, 88.36, 9.0, "Asia/Kolkata")
    (window,) = sun_day(spot(), kolkata, date(2027, 5, 10)).windows
    sun = rise_set(kolkata, date(2027, 5, 10))
    assert sun.sunrise is not None
    assert timedelta(0) < window.start - sun.sunrise < timedelta(minutes=4)
    assert window.start.utcoffset() == timedelta(hours=5, minutes=30)
    assert window.start.time() < time(5, 10)


def test_polar_day_and_night() -> None:
    """In June the window is the whole local day, in December there is none and no sun."""
    (window,) = sun_day(spot(), TROMSO, date(2027, 6, 21)).windows
    assert window.start == datetime(2027, 6, 21, tzinfo=TROMSO.tz)
    assert window.end == datetime(2027, 6, 22, tzinfo=TROMSO.tz)
    december = sun_day(spot(), TROMSO, date(2027, 12, 21))
    assert (december.windows, december.direct_sun_hours) == ((), 0.0)


def test_the_southern_sun_goes_through_north() -> None:
    """At 43 S a wall to the north takes the noon sun in October, one to the south the ends of the day."""
    on = date(2027, 10, 20)
    behind_north, behind_south = (sun_day(spot(walls=(long_wall(towards),)), LINCOLN, on) for towards in (0, 180))
    noon = datetime(2027, 10, 20, 13, tzinfo=LINCOLN.tz)
    assert not any(window.start <= noon <= window.end for window in behind_north.windows)
    assert any(window.start <= noon <= window.end for window in behind_south.windows)
    assert behind_south.direct_sun_hours > 8.0


@outside(
    "15 degrees an hour: on the equator at the equinox the sun climbs straight up",
    "when a wall to the east, as high as it is far, lets the sun in after sunrise: after 3 h",
    within="0.1 h",
    because="the equinox is not at that hour, refraction lifts the rising sun by half a degree",
    kind="anew",
)
def test_on_the_equator_the_sun_crosses_the_zenith_line() -> None:
    """At the March equinox on the equator a wall to the north and one to the south leave the same hours of sun."""
    where = Place("equator", 0.0, -78.5, 0.0, "America/Guayaquil")
    on = date(2027, 3, 20)
    north, south = (
        sun_day(spot(walls=(Wall(towards, 2.0, 2.0),)), where, on).direct_sun_hours for towards in (0, 180)
    )
    assert north == pytest.approx(south, abs=0.3)
    east = sun_day(spot(walls=(Wall(90.0, 2.0, 2.0),)), where, on)
    # a wall as high as it is far hides the sun up to 45 deg: until 9:00 solar time, three hours after sunrise
    (window,) = east.windows
    whole = sun_day(spot(), where, on).windows[0]
    compare(window.start - whole.start, timedelta(hours=3))


def test_a_day_says_what_it_does_not_know() -> None:
    """Far from the date seen the answer carries the warning; near it none."""
    noted = spot(sun_seen=(seen(date(2027, 4, 20), "08:00", "10:00"),))
    assert sun_day(noted, READING, date(2027, 4, 25)).warnings == ()
    (warning,) = sun_day(noted, READING, date(2027, 6, 25)).warnings
    assert "2027-04-20" in warning


def test_a_season_is_a_day_a_week() -> None:
    """From 1 March to 30 April in steps of a week: nine dates, the hours of an open spot growing all the way."""
    days = season(spot(), READING, date(2027, 3, 1), date(2027, 4, 30))
    assert [day.date for day in days] == [date(2027, 3, 1) + timedelta(days=7 * n) for n in range(9)]
    hours = [day.direct_sun_hours for day in days]
    assert hours == sorted(hours)
    assert len(season(spot(), READING, date(2027, 3, 1), date(2027, 3, 1))) == 1


@pytest.mark.parametrize("place", [READING, DENVER, TROMSO], ids=lambda place: place.name)
def test_days_at_once_are_the_same_as_one_by_one(place: Place) -> None:
    """Round the changes of clock and leaf, in polar day and night, in any order: not a digit differs."""
    april, june = date(2027, 4, 20), date(2027, 6, 20)
    noted = (seen(april, "09:00", "11:00"), seen(june, "08:00", "11:00"), seen(june, "15:00", "16:00"))
    leafy = spot(trees=(SUMMER_OAK,), skyline=((90.0, 12.0), (180.0, 5.0), (270.0, 20.0)))
    days = [date(2027, *each) for each in ((3, 14), (3, 28), (3, 31), (4, 1), (6, 21), (10, 31), (11, 7), (5, 2))]
    for where in (leafy, spot(sun_seen=noted)):
        assert sun_days(where, place, days, 5) == tuple(sun_day(where, place, on, 5) for on in days)


@outside(
    ONCE,
    "direct sun at a sunless porch if it is turned by 10 degrees (2.5 h) or its edge 0.2 m nearer (4.4 h)",
    within="0.1 h",
    because="printed to 0.1",
    kind="anew",
)
def test_a_porch_is_a_cliff() -> None:
    """A south porch without sun on 10 May."""
    hours = dict(band(spot(roof=canopy(2.2, 1.5, 180.0)), READING, READING_DAY))
    compare(hours["turned 10 degrees clockwise"], 2.5)
    compare(hours["turned 10 degrees anticlockwise"], 2.5)
    compare(hours["roof edge 0.2 m nearer"], 4.4)
    assert hours["roof edge 0.2 m further out"] == 0.0


def test_the_sky_view_of_the_day_knows_the_leaves() -> None:
    """The same tree leaves less sky in July than in January."""
    wood = spot(trees=(OAK,))
    july, january = (sun_day(wood, READING, date(2027, month, 1)).sky_view_factor for month in (7, 1))
    assert july < january
