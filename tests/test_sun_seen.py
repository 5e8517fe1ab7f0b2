"""Spots told by the times the sun was seen there."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest
from sun_spots import (
    PLACES,
    READING,
    seen,
    share_by_minute,
    spot,
)
from validation import compare, outside

from hardenoff.errors import UsageError
from hardenoff.records import Place, Spot, Wall
from hardenoff.sun.geometry import seen_faults, seen_warning, share
from hardenoff.sun.position import bearings_deg, day_span, sky

# --- times seen ------------------------------------------------------------------------------------


def clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def runs(passing: np.ndarray) -> list[tuple[str, str]]:
    """Stretches of sun as local clock times (days without a clock change)."""
    edges = np.flatnonzero(np.diff((passing > 0).astype(int), prepend=0, append=0))
    return [(clock(int(a)), clock(int(b))) for a, b in zip(edges[::2], edges[1::2], strict=True)]


@pytest.mark.parametrize("where", PLACES, ids=lambda place: place.name)
def test_on_the_date_itself_the_sun_is_there_when_it_was_seen(where: Place) -> None:
    """Two times of one date add up; everything else is closed - north, south and on the equator."""
    on = date(2027, 4, 20)
    passing = share_by_minute(where, on, spot(sun_seen=(seen(on, "08:40", "10:15"), seen(on, "14:00", "15:30"))))
    assert runs(passing) == [("08:40", "10:15"), ("14:00", "15:30")]


def test_the_window_is_one_of_bearings_at_any_height() -> None:
    """Seen 09:00-11:00 in April; in June the sun is at those bearings earlier or later, and shines then."""
    noted = spot(sun_seen=(seen(date(2027, 4, 20), "09:00", "11:00"),))
    span = (datetime(2027, 4, 20, 8, tzinfo=UTC), datetime(2027, 4, 20, 10, tzinfo=UTC))
    bearing, _ = bearings_deg(READING, *span)
    day = sky(READING, *day_span(READING, date(2027, 6, 20)), 1)
    open_then = share(noted, READING, day) > 0
    expected = (day.azimuth_deg >= bearing[0]) & (day.azimuth_deg <= bearing[-1]) & (day.elevation_deg > 0)
    np.testing.assert_array_equal(open_then, expected)


def edges_on(what: Spot, on: date) -> tuple[float, float]:
    """Least and greatest bearing of the sun while it shines at the spot."""
    day = sky(READING, *day_span(READING, on), 1)
    bearings = day.azimuth_deg[share(what, READING, day) > 0]
    return bearings.min(), bearings.max()


@outside(
    "declinations of the *Astronomical Almanac* for these days of any year (from memory)",
    "edges of a time seen on 20 April, between those of 1 April and 21 May",
    within="0.6 deg",
    because="declinations to 0.1 deg are 0.3 deg of bearing here, and the sun moves 0.25 deg a minute",
)
def test_between_two_dates_the_edges_move_with_declination() -> None:
    """On 20 April (declination 11.4) between 1 April (4.3) and 21 May (20.1) they have gone 0.45 of the way."""
    both = spot(sun_seen=(seen(date(2027, 5, 21), "09:00", "12:00"), seen(date(2027, 4, 1), "08:00", "10:00")))
    first, last = (edges_on(spot(sun_seen=(one,)), one.on) for one in (both.sun_seen[1], both.sun_seen[0]))
    way = (11.4 - 4.3) / (20.1 - 4.3)
    for edge, low, high in zip(edges_on(both, date(2027, 4, 20)), first, last, strict=True):
        compare(edge, low + way * (high - low))
    assert edges_on(both, date(2027, 4, 1)) == pytest.approx(first, abs=0.3)
    assert edges_on(both, date(2027, 5, 21)) == pytest.approx(last, abs=0.3)


def test_outside_the_dates_the_edges_stay() -> None:
    """Beyond the last date seen its edges are kept: the same as had only that one been noted."""
    both = spot(sun_seen=(seen(date(2027, 4, 1), "08:00", "10:00"), seen(date(2027, 5, 1), "09:00", "12:00")))
    last = spot(sun_seen=both.sun_seen[1:])
    for on in (date(2027, 5, 20), date(2027, 6, 21)):
        np.testing.assert_array_equal(share_by_minute(READING, on, both), share_by_minute(READING, on, last))


def test_unlike_numbers_of_times_take_the_nearer_date() -> None:
    """One time in April and two in May can't be paired: early in between April's holds, later May's."""
    april, may = date(2027, 4, 1), date(2027, 5, 11)
    both = spot(
        sun_seen=(seen(april, "08:00", "10:00"), seen(may, "08:00", "10:00"), seen(may, "13:00", "14:00")),
    )
    assert len(runs(share_by_minute(READING, date(2027, 4, 8), both))) == 1
    assert len(runs(share_by_minute(READING, date(2027, 5, 5), both))) == 2


def test_a_date_whose_midnight_does_not_exist() -> None:
    """In Chile the clocks leap from 24:00 to 01:00 on 5 September 2027; times seen that day hold all the same."""
    santiago = Place("Santiago", -33.45, -70.67, 570.0, "America/Santiago")
    on = date(2027, 9, 5)
    passing = share_by_minute(santiago, on, spot(sun_seen=(seen(on, "10:00", "12:00"),)))
    assert runs(passing) == [("09:00", "11:00")]  # minutes since the day began, an hour behind the clock


def test_times_seen_and_a_wall_both_count() -> None:
    """A wall to the south-east takes its part of what was seen."""
    on = date(2027, 4, 20)
    noted = spot(sun_seen=(seen(on, "08:00", "12:00"),))
    walled = replace(noted, walls=(Wall(90.0, 0.01, 100.0),))
    assert share_by_minute(READING, on, walled).sum() == 0
    assert share_by_minute(READING, on, noted).sum() == 240


@pytest.mark.parametrize(
    ("on", "warns"),
    [
        (date(2027, 4, 20), False),
        (date(2027, 5, 11), False),
        (date(2027, 5, 12), True),
        (date(2027, 3, 30), False),
        (date(2027, 3, 29), True),
        (date(2031, 4, 25), False),
    ],
)
def test_a_time_seen_speaks_for_three_weeks_of_any_year(on: date, warns: bool) -> None:
    """Ours: more than 21 days from the calendar day seen there is a warning, whatever the year."""
    noted = spot(sun_seen=(seen(date(2027, 4, 20), "08:00", "10:00"),))
    assert (seen_warning(noted, READING, on) is not None) == warns


def test_the_new_year_lies_between_december_and_january() -> None:
    """28 December and 5 January are 8 days apart; a spot without times seen never warns."""
    noted = spot(sun_seen=(seen(date(2027, 12, 28), "10:00", "11:00"),))
    assert seen_warning(noted, READING, date(2027, 1, 5)) is None
    assert seen_warning(spot(), READING, date(2027, 7, 1)) is None


def test_the_sun_can_not_be_seen_below_the_horizon() -> None:
    """A time at which the sun is down is a fault in three parts that names spot, times and sunrise."""
    noted = spot(sun_seen=(seen(date(2027, 12, 20), "05:00", "06:00"), seen(date(2027, 12, 20), "10:00", "11:00")))
    (fault,) = seen_faults(noted, READING)
    assert isinstance(fault, UsageError)
    assert "2027-12-20 05:00-06:00" in fault.what
    assert "sunrise 08:0" in fault.expected
    assert fault.fix


def test_a_quarter_of_an_hour_before_sunrise_is_no_fault() -> None:
    """Sunrise 05:20 (almanac) on 10 May at Reading: 'from 05:10' is a rounded memory, 'from 04:50' a mistake."""
    rounded, wrong = (spot(sun_seen=(seen(date(2026, 5, 10), start, "08:00"),)) for start in ("05:10", "04:50"))
    assert seen_faults(rounded, READING) == ()
    assert len(seen_faults(wrong, READING)) == 1


def test_between_the_tropics_times_seen_are_warned_of() -> None:
    """There the sun climbs almost upright, and hours share one bearing."""
    noted = spot(sun_seen=(seen(date(2027, 9, 10), "08:00", "09:30"),))
    near = Place("equator", 0.0, 30.0, 1100.0, "Africa/Kampala")
    assert "hardly changes" in str(seen_warning(noted, near, date(2027, 9, 10)))
    assert seen_warning(noted, READING, date(2027, 9, 10)) is None
