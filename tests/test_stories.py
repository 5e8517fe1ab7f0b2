"""Stories through the planner, each explainable in a sentence: cold snaps, absences, clocks, far places."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise

import numpy as np
import pytest
from weather import (
    FIRST,
    HOME,
    OPEN,
    PLACE,
    SHADED,
    SPOTS,
    WORK,
    Weather,
    garden,
    hand_state,
    on_dates,
    plan,
    rows,
)

from hardenoff.records import Place, Spot

SNAP = 5
"""The cold snap begins on this day of the plan, counted from 1."""


@pytest.fixture(scope="module")
def snapped():
    """Settled days with a cold snap of two days and nights from day 5 on: 1 to 8 C."""
    weather = Weather(days=14)
    frame = weather.frame()
    begin = FIRST + timedelta(days=SNAP - 1)
    cold = on_dates(frame, PLACE, begin, begin + timedelta(days=1))
    frame.loc[cold, "air_temperature_c"] -= 16.0
    return plan(garden(), weather.forecast(frame))


@pytest.fixture(scope="module")
def settled():
    """The same days without the snap."""
    return plan(garden(), Weather(days=14).forecast())


def test_the_batch_is_held_on_the_nights_of_a_cold_snap(snapped):
    """Nights at 1 C are in, because of the weather."""
    for day in rows(snapped)[SNAP - 1 : SNAP + 1]:
        assert (day.night.verdict, day.night.because) == ("in", "weather")


def test_a_cold_day_is_a_hold_that_prints_its_cost(snapped):
    """Day 5 stays inside, and says what that costs."""
    day = rows(snapped)[SNAP - 1]
    assert day.verdict == "hold"
    assert day.hold_costs.startswith("finish ")
    assert any(reason.code == "cold" for reason in day.reasons)


def test_a_cold_snap_never_sends_a_batch_back_to_day_one(snapped):
    """Afterwards no axis stands more than half a ramp-day per day inside below where it stood."""
    days = rows(snapped)
    held = [day for day in days[SNAP - 1 :] if day.verdict == "hold"]
    before, after = days[SNAP - 1].state, days[SNAP - 1 + len(held)].state
    assert len(held) == 2
    for axis in ("air", "sun", "cold"):
        assert getattr(after, axis) >= getattr(before, axis) - 0.5 * len(held)
    assert min(after.air, after.sun) > 0.0


def test_a_cold_snap_moves_the_finish_by_its_days(snapped, settled):
    """Two days inside cost two days and a third, so the finish moves by two or three."""
    later = snapped.finishes[0].earliest - settled.finishes[0].earliest
    assert timedelta(days=2) <= later <= timedelta(days=3)


def test_a_missed_forecast_night_keeps_the_batch_inside(settled):
    """A hole before dawn makes the night unknown, and unknown is never out."""
    weather = Weather(days=14)
    frame = weather.frame()
    local = frame.index.tz_convert(PLACE.tz)
    frame.loc[(local.date == FIRST + timedelta(days=1)) & (local.hour == 4), "air_temperature_c"] = np.nan
    state = hand_state(air=11.0, sun=11.0, cold=1.0, light_mol=25.0)
    known = rows(plan(garden(state=state), weather.forecast()))[0]
    holed = rows(plan(garden(state=state), weather.forecast(frame)))[0]
    assert known.night.verdict == "out"
    assert (holed.night.verdict, holed.night.because, holed.night.air_low_c) == ("unknown", "unknown", None)
    assert holed.placements[-1].end.date() == FIRST


def test_days_away_are_spent_inside():
    """Nobody there: the batch waits inside, and the night before is not spent outside either."""
    away = (FIRST + timedelta(days=2), FIRST + timedelta(days=3))
    state = hand_state(air=11.0, sun=9.0, cold=1.0, light_mol=25.0)
    days = rows(plan(garden(state=state, carer={"away": (away,)}), Weather().forecast()))
    assert days[1].night.because == "absent"
    assert [day.verdict for day in days[2:4]] == ["in", "in"]
    assert days[2].reasons[0].code == "absent"


def test_a_spot_that_holds_one_tray_takes_one_batch():
    """Two batches, room for one: they never stand at the small spot together."""
    small = replace(SHADED, holds=1)
    of = garden(spots=(small, OPEN))
    two = replace(of, batches=(of.batches[0], replace(of.batches[0], name="others")))
    schedule = plan(two, Weather(days=5).forecast())
    stood = set()
    for day in schedule.days:
        stood |= {batch.batch for batch in day.batches for place in batch.placements if place.spot == small.name}
        stays = [
            (place.start, place.end)
            for batch in day.batches
            for place in batch.placements
            if place.spot == small.name
        ]
        stays.sort()
        assert all(first[1] <= second[0] for first, second in pairwise(stays))
    assert stood, "nobody ever stood there"


def test_a_gust_bars_the_open_but_not_the_lee():
    """Gusts of 12 m/s at 10 m are 7.8 m/s at an open plant and 3.1 m/s behind a 0.4 shelter."""
    weather = Weather(days=3, gust_m_s=7.0)
    schedule = plan(garden(spots=(SHADED, OPEN)), weather.forecast())
    first = rows(schedule)[0]
    assert {place.spot for place in first.placements} == {SHADED.name}
    assert any(reason.code == "gust" for reason in first.reasons)


def test_a_surprise_clearing_does_no_harm():
    """A day forecast as overcast gets no more if-clear sun than a clear one would."""
    state = hand_state(air=4.0, sun=4.0, light_mol=14.0)
    day = rows(plan(garden(week=WORK, state=state), Weather(days=3, cloud=1.0).forecast()))[0]
    assert day.direct_sun_hours_if_clear <= day.limits.direct_sun_hours
    assert day.direct_sun_hours_likely == pytest.approx(0.0, abs=0.05)


def test_dull_days_earn_air_but_hardly_any_sun():
    """Five overcast days from ramp-day 5 on: sun comes half as far as air, though it may catch up."""
    state = hand_state(air=4.0, sun=4.0, light_mol=14.0)
    days = rows(plan(garden(state=state), Weather(days=6, cloud=1.0).forecast()))
    assert days[5].state.air >= 8.0
    assert days[5].state.sun - 4.0 <= (days[5].state.air - 4.0) / 2.0 + 0.25


def test_without_start_the_warning_gives_the_line_to_write():
    """Day 1 stays day 1 until it is written down."""
    today = rows(plan(garden(), Weather(days=3).forecast()))[0]
    assert [warning.code for warning in today.warnings] == ["start_not_recorded"]
    assert "start = 2027-05-03" in today.warnings[0].text


def test_a_young_batch_waits_until_it_is_old_enough():
    """Sown a week ago: the first possible day is weeks off, the least weeks to transplanting less the ramp."""
    of = garden(sown=FIRST - timedelta(days=7))
    batch = of.batches[0]
    schedule = plan(of, Weather(days=16).forecast())
    wait = timedelta(weeks=batch.crop.weeks_to_transplant[0]) - timedelta(days=batch.rule.length)
    first_out = next(day.date for day in schedule.days if day.batches[0].stage == "ramp")
    assert rows(schedule)[0].stage == "inside"
    assert first_out == batch.sown + wait


def test_a_batch_sown_in_the_future_is_no_fault():
    """Stage `sown`, verdict in."""
    today = rows(plan(garden(sown=FIRST + timedelta(days=9)), Weather(days=3).forecast()))[0]
    assert (today.stage, today.verdict, today.placements) == ("sown", "in", ())


def test_a_past_start_is_taken_as_done_at_less_trust():
    """Begun two days ago and nothing logged: credit for both days, confidence assumed, limits read lower."""
    today = rows(plan(garden(start=FIRST - timedelta(days=2)), replace(Weather(days=4), first=FIRST).forecast()))[
        0
    ]
    assert today.state.confidence == "assumed"
    assert today.state.air == pytest.approx(2.0, abs=0.01)
    assert today.limits.outdoor_hours == 3.5


# --- clocks and places -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "hours"), [(date(2027, 3, 14), 23), (date(2027, 11, 7), 25)], ids=["spring", "autumn"]
)
def test_days_with_23_and_25_hours(change, hours):
    """On a clock change every time is a real time of the place, and the strip has as many hours as the day."""
    weather = Weather(first=change - timedelta(days=1), days=4)
    now = datetime.combine(change, time(6), PLACE.tz)
    schedule = plan(garden(), weather.forecast(), now)
    today = schedule.days[0].batches[0]
    assert len(today.strip) == hours
    assert today.verdict == "out"
    assert all(
        place.start.utcoffset() == place.start.astimezone(PLACE.tz).utcoffset() for place in today.placements
    )
    assert today.night.morning == change + timedelta(days=1)


@pytest.mark.parametrize("zone", ["Asia/Kolkata", "Australia/Adelaide", "Asia/Kathmandu"])
def test_half_hour_zones(zone):
    """Move times are quarter hours of the place's clock, whatever the zone's offset."""
    where = {
        "Asia/Kolkata": Place("Pune", 18.5, 73.9, 560.0, zone),
        "Australia/Adelaide": Place("Adelaide hills", -35.0, 138.7, 400.0, zone),
        "Asia/Kathmandu": Place("Patan", 27.7, 85.3, 1330.0, zone),
    }[zone]
    day = date(2027, 10, 5)
    now = datetime.combine(day, time(6), where.tz)
    today = plan(garden(place=where), Weather(place=where, first=day, days=3).forecast(), now).days[0].batches[0]
    assert today.verdict == "out"
    assert all(edge.minute % 15 == 0 for place in today.placements for edge in (place.start, place.end))
    assert today.outdoor_hours == pytest.approx(2.5, abs=0.3)


def test_polar_day_has_a_night_all_the_same():
    """Where the sun does not set, the night is 21:00 to 07:00 and the ramp goes on."""
    where = Place("Tromso side", 69.6, 18.9, 20.0, "Europe/Oslo")
    day = date(2027, 6, 15)
    now = datetime.combine(day, time(6), where.tz)
    weather = Weather(place=where, first=day, days=5)
    today = plan(garden("kale", place=where), weather.forecast(), now).days[0].batches[0]
    assert today.verdict == "out"
    assert today.night.verdict in ("in", "out")
    assert today.night.air_low_c == pytest.approx(13.5, abs=0.6)


def test_the_sun_goes_through_north_in_the_south():
    """At 43 S a hill to the north takes the noon sun, and one to the south takes none."""
    where = Place("Huon side", -43.0, 147.0, 40.0, "Australia/Hobart")
    day = date(2027, 10, 5)
    weather = Weather(place=where, first=day, days=3).forecast()
    state = hand_state(on=day, air=12.0, sun=12.0, cold=2.0, light_mol=40.0)

    def sun(*skyline):
        of = garden(place=where, spots=(Spot("terrace", skyline=skyline),), state=state)
        now = datetime.combine(day, time(6), where.tz)
        return plan(of, weather, now).days[0].batches[0].direct_sun_hours_if_clear

    north = sun((0.0, 70.0), (70.0, 70.0), (71.0, 0.0), (289.0, 0.0), (290.0, 70.0))
    south = sun((109.0, 0.0), (110.0, 70.0), (250.0, 70.0), (251.0, 0.0))
    assert south > north + 4.0


def test_the_local_date_is_the_places_own():
    """20:00 UTC on 2 May is already 3 May in Hobart."""
    where = Place("Huon side", -43.0, 147.0, 40.0, "Australia/Hobart")
    weather = Weather(place=where, days=3)
    now = datetime.fromisoformat("2027-05-02T20:00:00+00:00")
    assert plan(garden(place=where), weather.forecast(), now).date == date(2027, 5, 3)


def test_before_sunrise_the_running_night_comes_first():
    """At 03:00 the watch shows the night that is under way, then the coming one."""
    now = datetime.combine(FIRST, time(3), PLACE.tz)
    nights = plan(garden(spots=SPOTS, week=HOME), Weather(days=3).forecast(), now).nights
    assert [(night.evening, night.running) for night in nights] == [
        (FIRST - timedelta(days=1), True),
        (FIRST, False),
    ]
