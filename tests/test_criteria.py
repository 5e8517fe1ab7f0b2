"""What is still missing to be hardened, the evening on which it is good enough, and the labour of carrying."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import numpy as np
import pytest
from astral import LocationInfo
from astral.sun import sunset
from weather import FIRST, HOME, OPEN, PLACE, SHADED, SPOTS, WORK, Weather, garden, hand_state, on_dates, plan

from hardenoff.records import Span
from hardenoff.views import plan as plan_view
from hardenoff.views import today as today_view

READY = hand_state(air=12.0, sun=12.0, cold=2.0, light_mol=45.0)
NEAR = hand_state(air=10.5, sun=10.5, cold=0.0, light_mol=45.0)
CODES = ["air", "sun", "light", "nights", "wind", "coming_nights"]


def finish(weather=None, frame=None, now=None, **of):
    """The finish of the one batch."""
    weather = weather or Weather(days=10)
    return plan(garden(**{"state": READY, **of}), weather.forecast(frame), now).finishes[0]


def criterion(code, **more):
    """One of its criteria."""
    return next(each for each in finish(**more).criteria if each.code == code)


# --- criteria ----------------------------------------------------------------------------------------


def test_a_batch_that_is_ready_meets_them_all():
    """Six of them, every one met."""
    found = finish().criteria
    assert [each.code for each in found] == CODES
    assert all(each.met is True for each in found)


@pytest.mark.parametrize(
    ("state", "missing"),
    [
        (replace(READY, air=11.6), "air"),
        (replace(READY, sun=11.6), "sun"),
        (replace(READY, light_mol=15.0), "light"),
        (replace(READY, cold=1.0), "nights"),
    ],
    ids=["air", "sun", "light", "nights"],
)
def test_each_axis_alone_may_be_missing(state, missing):
    """As of today's state, and only that one."""
    assert [each.code for each in finish(state=state).criteria if not each.met] == [missing]


def test_the_axes_are_measured_to_three_tenths_of_the_rules_end():
    """11.7 of the twelve ramp-days of the default rule."""
    air = criterion("air")
    assert (air.value, air.limit, air.unit, air.at_most) == (12.0, pytest.approx(11.7), "ramp-days", False)


def test_the_light_is_that_of_the_planting_spot():
    """At most 1.3 times the cap of 2 x 15 + 5 mol: a clear May day is brighter in the open, not on the porch."""
    dim = replace(READY, light_mol=15.0)
    light = criterion("light", state=dim)
    assert light.limit == pytest.approx(1.3 * 35.0)
    assert light.at_most
    assert light.value > light.limit
    assert criterion("light", state=dim, plant_out_at=SHADED.name).met


def test_wind_is_that_of_the_planting_spot():
    """Gusts of 13 m/s are 8.5 m/s at an open plant, 12.7 with a forecast's margin of 1.5; the rule ends at 11."""
    windy = Weather(days=10, gust_m_s=13.0)
    wind = criterion("wind", weather=windy)
    assert (wind.value, wind.limit, wind.met) == (pytest.approx(13.0 * 0.65 * 1.5), 11.0, False)
    assert criterion("wind", weather=windy, plant_out_at=SHADED.name).met


def test_a_hole_in_the_wind_is_never_a_tick():
    """An hour without gusts on the day after tomorrow: not known."""
    frame = Weather(days=10).frame()
    frame.loc[on_dates(frame, PLACE, FIRST + timedelta(days=2), FIRST + timedelta(days=2)), "wind_gust_m_s"] = (
        np.nan
    )
    assert criterion("wind", frame=frame).met is None


def test_coming_nights_are_judged_at_the_planting_spot():
    """One cold night in the week that is coming: five of six pass."""
    frame = Weather(days=10).frame()
    frame.loc[
        on_dates(frame, PLACE, FIRST + timedelta(days=3), FIRST + timedelta(days=3)), "air_temperature_c"
    ] -= 9
    nights = criterion("coming_nights", frame=frame)
    assert nights.met is False
    assert nights.value < nights.limit == 6.0


def test_an_unknown_night_leaves_it_open():
    """A hole before dawn, all the others pass."""
    frame = Weather(days=10).frame()
    local = frame.index.tz_convert(PLACE.tz)
    frame.loc[(local.date == FIRST + timedelta(days=2)) & (local.hour == 4), "air_temperature_c"] = np.nan
    nights = criterion("coming_nights", frame=frame)
    assert (nights.value, nights.limit, nights.met) == (5.0, 6.0, None)


def test_a_batch_that_never_stays_out_needs_no_nights():
    """A balcony: nothing is asked."""
    nights = criterion("nights", state=replace(READY, cold=0.0), nights=False)
    assert (nights.limit, nights.met) == (0.0, True)


def test_before_the_first_outing_there_is_nothing_to_tick():
    """It waits inside for two more days."""
    assert finish(state=None, start=FIRST + timedelta(days=2)).criteria == ()


# --- good enough -------------------------------------------------------------------------------------


def good_enough(**more):
    return finish(**{"state": NEAR, **more}).good_enough


def test_it_is_the_first_evening_within_a_ramp_day_of_the_end():
    """From 10.5 one good day is enough: this evening, with what is missing said."""
    evening = good_enough(week=WORK)
    assert evening.at == datetime.combine(FIRST, time(17, 45), PLACE.tz)
    assert "nights" in [each.code for each in evening.missing]
    assert all(each.met is not True for each in evening.missing)


def test_it_waits_until_air_and_sun_are_near():
    """From 9.5 it takes two days; the finish itself comes later still."""
    found = finish(state=replace(NEAR, air=9.5, sun=9.5), week=WORK)
    assert found.good_enough.at.date() == FIRST + timedelta(days=1)
    assert found.good_enough.at.date() < found.earliest


def test_someone_home_all_day_plants_two_hours_before_sunset():
    """Sunset by astral, another sun than ours; to the quarter hour."""
    sets = sunset(
        LocationInfo(latitude=PLACE.latitude, longitude=PLACE.longitude).observer, FIRST, tzinfo=PLACE.tz
    )
    before = sets - good_enough(week=HOME).at
    assert timedelta(hours=2) - timedelta(minutes=5) <= before <= timedelta(hours=2, minutes=20)


def test_the_latest_window_of_the_evening_is_taken():
    """Two windows after 16:00: the later one's begin; one that begins in the dark is none."""
    week = ((Span(420, 480), Span(16 * 60, 17 * 60), Span(1100, 1200), Span(1320, 1400)),) * 7
    assert good_enough(week=week).at.time() == time(18, 20)


def test_nobody_there_in_the_evening_is_said():
    """Mornings and noons only."""
    week = ((Span(420, 480), Span(720, 900)),) * 7
    evening = good_enough(week=week)
    assert evening.at is None
    assert evening.reason.code == "no_evening"


def test_an_evening_that_has_begun_is_past():
    """At nine in the evening it is tomorrow's turn."""
    now = datetime.combine(FIRST, time(21), PLACE.tz)
    assert good_enough(week=WORK, now=now).at.date() == FIRST + timedelta(days=1)


@pytest.mark.parametrize(
    ("column", "change", "day", "code"),
    [
        ("air_temperature_c", -12.0, 1, "night_cold"),
        ("air_temperature_c", 14.0, 1, "heat"),
        ("wind_gust_m_s", 12.0, 1, "gust"),
    ],
    ids=["cold", "heat", "gusts"],
)
def test_what_speaks_against_an_evening_moves_it_on(column, change, day, code):
    """Tomorrow's weather is bad: not this evening, and not while it lasts; if it never ends, that is said."""
    weather = Weather(days=10)
    frame = weather.frame()
    bad = on_dates(frame, PLACE, FIRST + timedelta(days=day), FIRST + timedelta(days=day))
    frame.loc[bad, column] += change
    assert good_enough(frame=frame, week=WORK).at.date() > FIRST
    frame = weather.frame()
    frame.loc[on_dates(frame, PLACE, FIRST + timedelta(days=day), FIRST + timedelta(days=20)), column] += change
    never = good_enough(frame=frame, week=WORK)
    assert never.at is None
    assert never.reason.code == code


def test_a_dull_day_after_is_waited_for():
    """Hot-bright days, and the day after tomorrow is overcast: tomorrow's evening, and why."""
    weather = Weather(days=10, high_c=26.0)
    frame = weather.frame()
    dull = FIRST + timedelta(days=2)
    frame.loc[on_dates(frame, PLACE, dull, dull), ["cloud_cover_frac", "cloud_low_frac"]] = 1.0
    evening = good_enough(frame=frame, week=WORK)
    assert (evening.at.date(), evening.reason.code) == (FIRST + timedelta(days=1), "dull")


def test_far_from_the_end_there_is_no_evening():
    """At the ramp's beginning with three days of forecast: none, with how far it comes."""
    evening = good_enough(state=hand_state(), weather=Weather(days=3))
    assert (evening.at, evening.reason.code, evening.reason.limit) == (None, "not_near", 11.0)


def test_an_evening_in_a_changed_clock_is_a_real_one():
    """On the day the clock goes forward, 17:45 is 17:45."""
    change = date(2027, 3, 14)
    weather = Weather(first=change - timedelta(days=1), days=8, low_c=15.0)
    now = datetime.combine(change, time(6), PLACE.tz)
    found = plan(garden("cabbage", state=replace(NEAR, on=change), week=WORK), weather.forecast(), now).finishes[0]
    assert found.good_enough.at.utcoffset() == timedelta(hours=-4)


# --- labour ------------------------------------------------------------------------------------------


def test_minutes_of_a_carry_are_trips_times_minutes():
    """Five trays, two a trip, three minutes a trip: nine minutes there and nine back."""
    schedule = plan(garden(trays=5), Weather(days=3).forecast())
    assert [move.minutes for move in schedule.moves] == [9.0] * len(schedule.moves)
    assert schedule.carrying_minutes == 9.0 * len(schedule.moves)


def test_trays_of_two_batches_share_a_trip():
    """Two batches of one tray that go the same way together: one trip."""
    of = garden(week=((Span(420, 1260),),) * 7, spots=SPOTS)
    two = replace(of, batches=(of.batches[0], replace(of.batches[0], name="others")))
    merged = [move for move in plan(two, Weather(days=3).forecast()).moves if len(move.batches) == 2]
    assert merged
    assert all((move.trays, move.minutes) == (2, 3.0) for move in merged)


def test_the_view_says_the_minutes_and_their_sum():
    """In the carry list and above it."""
    text = today_view.render(plan(garden(trays=5, spots=(SHADED, OPEN)), Weather(days=3).forecast()))
    assert "(5 trays, 9 min)" in text
    assert "(18 min in all)" in text


# --- the view ----------------------------------------------------------------------------------------


def test_ticks_are_read_without_colour():
    """Words for what is met and what is not yet, which look like nothing to tick."""
    text = plan_view.render(plan(garden(state=NEAR, week=WORK), Weather(days=10).forecast()))
    assert "\nReady today?\n" in text
    assert "[ ]" not in text
    assert "  not yet    air: 10.5, needs 11.7 ramp-days" in text
    assert "  not yet    nights out: 0, needs 2 nights" in text
    assert "  yes        light of a clear day at open bed: " in text


def test_the_evening_is_said_with_what_is_missing():
    """A sentence a person can act on."""
    text = plan_view.render(plan(garden(state=NEAR, week=WORK), Weather(days=10).forecast()), width=120)
    assert "Good enough: plant out Mon 3 May at 17:45" in text
    assert "missing by then: " in text


def test_where_light_is_missing_shade_is_advised():
    """A clear day would be a leap for the leaves."""
    dim = replace(NEAR, light_mol=4.0)
    text = plan_view.render(plan(garden(state=dim, week=WORK), Weather(days=10).forecast()), width=120)
    assert "shade them at first" in text
