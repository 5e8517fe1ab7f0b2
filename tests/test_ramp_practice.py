"""The default rule through settled days against common practice for warm-season crops.

Bare figures, common practice, no source: 10 to 14 days in all; day 1 two to three hours and no direct sun; days
2-4 rising to five or six hours, still none; around day 6 about six hours with about two of direct morning sun; by
day 10 out from morning to night with two to four hours of sun; at the end nights out and sun all day.
"""

from datetime import timedelta

import pytest
from validation import compare, outside
from weather import FIRST, HOME, WORK, Weather, garden, plan, rows

COMMON = "common practice for warm-season crops, no source"


def practice(compares, within, because="the figures that growers pass on"):
    """A check of the default rule in settled weather: tomato, sweet pepper, basil, cucumber."""
    return outside(COMMON, f"{compares}, in settled weather", within=within, because=because, kind="practice")


@pytest.fixture(scope="module", params=["tomato", "sweet pepper", "basil", "cucumber"])
def days(request):
    """Fourteen settled days of a warm-season crop, someone home from 7 to 21."""
    return rows(plan(garden(request.param.replace(" ", "_"), way="longer"), Weather().forecast()))


@practice("day 1 outside, without direct sun", "2 to 3 h")
def test_day_one_is_short_and_without_sun(days):
    """Two to three hours, no direct sun at all."""
    compare(days[0].outdoor_hours)
    assert days[0].direct_sun_hours_if_clear == 0.0


@practice("day 4 outside, grown since day 1, still without direct sun", "5 to 6 h")
def test_days_two_to_four_grow_without_sun(days):
    """Rising to five or six hours, still none."""
    hours = [day.outdoor_hours for day in days[1:4]]
    assert hours == sorted(hours)
    compare(hours[-1])
    assert all(day.direct_sun_hours_if_clear == 0.0 for day in days[1:4])


@practice("day 6: six hours outside, two of them in direct morning sun", "0.5 h", "'about'")
def test_day_six_has_morning_sun(days):
    """About six hours, of which about two in direct morning sun (within half an hour)."""
    day = days[5]
    compare(day.outdoor_hours, 6.0)
    compare(day.direct_sun_hours_if_clear, 2.0)
    assert min(place.start.hour for place in day.placements) < 12


@practice("direct sun on day 10, out from morning to night", "2 to 4 h")
def test_day_ten_is_a_whole_day(days):
    """Out from morning to night with two to four hours of direct sun."""
    day = days[9]
    assert day.outdoor_hours >= 12.0
    compare(day.direct_sun_hours_if_clear)


@practice("days until hardened, then out day and night in the open", "10 to 14 d")
def test_the_end_is_all_sun_and_nights_out(days):
    """Hardened within ten to fourteen days, then out day and night in the open."""
    done = next(number for number, day in enumerate(days) if day.stage == "hardened")
    compare(done)
    assert days[done].night.verdict == "out"
    assert days[done].direct_sun_hours_if_clear >= 8.0


def test_the_first_week_has_no_night_out(days):
    """Nights come last."""
    assert all(day.night.verdict == "in" and day.night.because == "rule" for day in days[:7])


def test_someone_at_home_is_done_on_day_twelve():
    """The default rule has twelve ramp-days, and settled weather loses none of them."""
    finish = plan(garden(way="longer"), Weather().forecast()).finishes[0]
    assert finish.earliest == FIRST + timedelta(days=11)


def test_someone_at_work_is_done_within_a_week_more():
    """With moves only before and after work the ramp takes longer, not for ever (ours: at most 17 days)."""
    finish = plan(garden(week=WORK), Weather(days=18).forecast()).finishes[0]
    assert finish.earliest <= FIRST + timedelta(days=16)


@pytest.mark.parametrize("rule", ["twelve_days", "three_steps", "half_hour_first"])
@pytest.mark.parametrize("week", [HOME, WORK], ids=["home", "work"])
def test_every_rule_ends_in_settled_weather(rule, week):
    """No rule is a dead end, at home or at work."""
    finish = plan(garden(week=week, rule=rule), Weather(days=16).forecast()).finishes[0]
    assert finish.earliest is not None
