"""The published rules, planned: whole plans held to what the publication allows on each day.

PUBLICATIONS restates by hand what the two extension plans say, in their own units; the tables of the package are
not read for it. Where a publication is silent there is nothing to hold a plan to: no number for wind, no hours on
Purdue's days 5 and 6, none for sun at Green Bay ("gradual"), nothing by day after the last that is named.

How the bounds apply:

- Day N is the Nth day that the batch is outside, which never comes before the Nth of the calendar. Each bound is
  read once more at the ramp-day, the day's place in the rule by what was earned, and that is never ahead of day N.
- Ranges are bounds by their most: "3-4 h" is 4 h, "1-2 h more a day" is 2 h more.
- Hours are hours of daylight outside, as everywhere in the plan. With `way = "longer"` the published ones hold
  every day. Else a plan may leave a batch outside for longer, in deep shade: either the hours hold, or there is no
  direct sun beyond a quarter of an hour if the sky is clear.
- Shade of 50 % over 4 h is as much sun as 2 h in the open: so many hours of direct sun if clear are the most,
  however long the day.
- Air is that of the forecast's hours, each held to the next, though it may fall in between. The least is for all
  hours outside but those that belong to a night outside (from sunset to noon), which have the publication's bound
  for nights.
- Once hardened, a batch has the publication behind it.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from validation import compare, outside
from weather import FIRST, HOME, MORNING, OPEN, PLACE, SHADED, SPOTS, WORK, Weather, garden, plan, rows

from hardenoff.ramp.credit import CATCH_UP
from hardenoff.ramp.limits import ROW_REACHED, day_limits
from hardenoff.ramp.state import DayEarned, State, after_day
from hardenoff.records import Lamp, Spot
from hardenoff.sun.position import rise_set
from hardenoff.tables import load_rules
from hardenoff.tables.rows import read_rows

DEEP_SHADE_H = 0.25
"""Direct sun that still counts as none (ours: README)."""
HOUR = timedelta(hours=1)

PURDUE = "Purdue Extension Vegetable Crops Hotline, *Preparing Vegetable Transplants*, n.d."
GREEN_BAY = "Univ. Wisconsin-Green Bay, plant care sheet of the spring plant sale, n.d."
BOTH = f"{PURDUE} (`three_steps`); {GREEN_BAY} (`half_hour_first`)"


@dataclass(frozen=True)
class Publication:
    """What a publication allows, day by day from the first; after the last that is named it is silent."""

    hours: tuple[float, ...]
    """Most hours outside."""
    shade: tuple[float, ...]
    """Share of the sun that is kept off."""
    first_night: int
    """The first day that may end with a night outside."""
    least_days: int
    day_f: float
    night_f: float
    gust_mph: None = None
    """Neither gives a number ("sheltered" at Green Bay): nothing to hold a plan to."""

    def hours_on(self, day):
        """Most hours outside on day N, infinite where it is silent."""
        return self.hours[day - 1] if day <= len(self.hours) else np.inf

    def sun_on(self, day):
        """Most hours of direct sun on day N, infinite where it is silent."""
        return (1.0 - self.shade[day - 1]) * self.hours_on(day) if day <= len(self.shade) else np.inf


PUBLICATIONS = {
    "three_steps": Publication(  # days 1-2: 3-4 h in 50 % shade; 3-4: 1-2 h more a day, 20 %; then full sun
        hours=(4, 4, 4 + 2, 4 + 2 + 2),
        shade=(0.50, 0.50, 0.20, 0.20),
        first_night=7,  # nights on days 7 and 8, above 50 F
        least_days=8,
        day_f=50,
        night_f=50,
    ),
    "half_hour_first": Publication(  # half an hour, an hour, an hour more a day to about 6; after day 7 all day
        hours=(0.5, 1, 1 + 1, 1 + 2, 1 + 3, 1 + 4, 1 + 5),
        shade=(),
        first_night=7 + 1,  # after day 7, at about 50 F
        least_days=7,  # 7 to 10
        day_f=60,
        night_f=50,
    ),
}

# --- plans to look at ---------------------------------------------------------------------------------

CLOTHS = (SHADED, MORNING, Spot("bed, cloth", shade=0.5, like="open bed"), OPEN)
DAYS = 16
USUAL, STRONG = Lamp(200.0, 16.0), Lamp(500.0, 16.0)


@dataclass(frozen=True)
class Case:
    """A garden and its weather."""

    name: str
    crop: str
    week: tuple
    seed: int | None = None
    """Of the weather; None: settled."""
    spots: tuple = SPOTS
    way: str = "any"
    lamp: Lamp = USUAL


CASES = (
    Case("tomato, home", "tomato", HOME),
    Case("tomato, work", "tomato", WORK),
    Case("tomato, home, longer", "tomato", HOME, way="longer"),
    Case("basil, work, longer", "basil", WORK, way="longer"),
    Case("cabbage, home, strong lamp, longer", "cabbage", HOME, way="longer", lamp=STRONG),
    Case("tomato, home, strong lamp", "tomato", HOME, lamp=STRONG, spots=CLOTHS),
    Case("pepper, work, strong lamp", "sweet_pepper", WORK, lamp=STRONG),
    Case("tomato, home, mild", "tomato", HOME, seed=1),
    Case("basil, work, mild", "basil", WORK, seed=2, spots=CLOTHS),
    Case("cabbage, home, mild, longer", "cabbage", HOME, seed=3, way="longer", lamp=STRONG),
    Case("cabbage, work, mild", "cabbage", WORK, seed=4, lamp=STRONG),
    Case("pepper, home, mild", "sweet_pepper", HOME, seed=5, spots=CLOTHS),
)


def mild(seed):
    """Sixteen days of air from 8-15 C to 17-27 C, with cloud and light wind as it comes; nothing that harms."""
    weather = Weather(days=DAYS)
    frame = weather.frame()
    if seed is None:
        return weather.forecast(frame)
    random = np.random.default_rng(seed)
    dates = frame.index.tz_convert(PLACE.tz).date
    usual = (frame["air_temperature_c"] - weather.low_c) / (weather.high_c - weather.low_c)
    for on in np.unique(dates):
        at = dates == on
        low, high = random.uniform(8.0, 15.0), random.uniform(17.0, 27.0)
        frame.loc[at, "air_temperature_c"] = low + (high - low) * usual[at]
        frame.loc[at, "wind_gust_m_s"] = random.uniform(1.0, 6.0)
        frame.loc[at, ["cloud_cover_frac", "cloud_low_frac"]] = random.choice([0.0, 0.3, 0.9])
    return weather.forecast(frame)


@dataclass(frozen=True)
class Planned:
    """The days of one plan that are spent outside on the way to hardened, numbered from 1."""

    key: str
    case: Case
    days: tuple
    """(day N, BatchDay)."""
    hardened_on: date
    air_c: pd.Series
    """The forecast's air by the hour."""

    @property
    def publication(self):
        return PUBLICATIONS[self.key]

    @property
    def numbered(self):
        """(day, BatchDay) by both counts: as the Nth day outside, and as the ramp-day at which hours are read."""
        for number, day in self.days:
            yield number, day
            yield reached(day.state.air), day


def reached(axis):
    """The ramp-day that an axis has reached, from 1; nineteen twentieths of a day earned are a day (README)."""
    return 1 + int(axis + 0.05)


@cache
def planned(key, case):
    """Each is planned once."""
    forecast = mild(case.seed)
    of = garden(case.crop, week=case.week, spots=case.spots, rule=key, way=case.way, lamp=case.lamp)
    schedule = plan(of, forecast)
    ramp = [day for day in rows(schedule) if day.stage == "ramp" and day.placements]
    air_c = forecast.hours["air_temperature_c"]
    return Planned(key, case, tuple(enumerate(ramp, start=1)), schedule.finishes[0].earliest, air_c)


@pytest.fixture(params=PUBLICATIONS)
def rule(request):
    """The key of a published rule."""
    return request.param


@pytest.fixture(params=CASES, ids=lambda case: case.name)
def plan_of(request, rule):
    """A published rule's plan in one garden."""
    return planned(rule, request.param)


def date_of(day):
    """The local date of a day with an outing."""
    return day.placements[0].start.date()


def test_every_published_rule_is_held_to_its_publication():
    """A rule that is added to the table as published needs its facts here."""
    assert {row["rule"] for row in read_rows("rules.csv") if row["mark"] == "published"} == set(PUBLICATIONS)
    assert set(PUBLICATIONS) <= set(load_rules())


def test_the_plans_have_what_the_bounds_speak_of():
    """A bound over days inside says nothing: each rule has days with sun, in deep shade, and nights outside."""
    for key in PUBLICATIONS:
        plans = [planned(key, case) for case in CASES]
        days = [day for of in plans for _, day in of.days]
        assert all(len(of.days) >= of.publication.least_days for of in plans)
        assert sum(day.direct_sun_hours_if_clear > 1.0 for day in days) > len(days) / 3
        assert "longer" in {day.way for day in days}
        assert {"out", "in"} <= {day.night.verdict for day in days}
        assert any(
            day.outdoor_hours > 0.9 * of.publication.hours_on(number)
            for of in plans
            for number, day in of.days
            if day.way == "longer"
        )


# --- the calendar -------------------------------------------------------------------------------------


def test_no_plan_is_ahead_of_the_calendar(plan_of):
    """On the Nth day outside air and sun are read at ramp-day N at most."""
    for number, day in plan_of.days:
        assert reached(day.state.air) <= number
        assert reached(day.state.sun) <= number


@settings(max_examples=200, deadline=None)
@given(credits=st.lists(st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)), min_size=1, max_size=12))
def test_no_credits_run_ahead_of_the_calendar(credits):
    """Whatever days earn, catching up too, row N is read on day N at the soonest."""
    (batch,) = garden(rule="twelve_days").batches
    state = State()
    for number, (air, sun) in enumerate(credits, start=1):
        limits = day_limits(batch, state, indoor_mol=11.5, sun_up_h=14.0, hardened=False)
        assert max(limits.air_row, limits.sun_row) <= number
        earned = DayEarned(air, sun * (CATCH_UP if limits.lagging else 1.0), False, True, None)
        state = after_day(state, earned, end=batch.rule.length, loses_cold=False)


@pytest.mark.parametrize("lag", [ROW_REACHED, ROW_REACHED + 1e-6, 0.5])
def test_catching_up_leaves_sun_on_the_calendar(lag):
    """Full credit from just behind, at the most that sun can gain on air, still reads the row of the day."""
    (batch,) = garden(rule="twelve_days").batches
    state = State(air=3.0, sun=3.0 - lag)
    limits = day_limits(batch, state, indoor_mol=11.5, sun_up_h=14.0, hardened=False)
    earned = DayEarned(1.0, CATCH_UP if limits.lagging else 1.0, False, True, None)
    state = after_day(state, earned, end=batch.rule.length, loses_cold=False)
    assert day_limits(batch, state, indoor_mol=11.5, sun_up_h=14.0, hardened=False).sun_row == 5


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
@outside(
    PURDUE,
    "day on which a plan by `three_steps` is hardened",
    within="at least 8 d",
    because="its last step, nights outside, is days 7 and 8",
)
def test_the_three_steps_take_their_eight_days(case):
    """Never sooner, whatever the garden."""
    compare(days_until(planned("three_steps", case).hardened_on))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
@outside(
    GREEN_BAY,
    "day on which a plan by `half_hour_first` is hardened",
    within="at least 7 d",
    because="the shortest that it says",
)
def test_the_half_hour_plan_takes_its_seven_days(case):
    """Never sooner, whatever the garden."""
    compare(days_until(planned("half_hour_first", case).hardened_on))


def days_until(on):
    """Days from the first to a date, both counted."""
    return (on - FIRST).days + 1


# --- hours and sun ------------------------------------------------------------------------------------


def beyond(of, hours):
    """Hours less the published ones, of (day, hours), where the publication has any."""
    return [each - of.publication.hours_on(day) for day, each in hours if day <= len(of.publication.hours)]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
@outside(
    BOTH,
    "daylight outside beyond the published hours, on days with direct sun, if clear, of more than a quarter of an "
    "hour",
    within="at most 0 h",
    because="either the hours hold, or it is deep shade",
)
def test_days_in_the_sun_keep_the_published_hours(case, rule):
    """By the days outside and by ramp-days."""
    of = planned(rule, case)
    sunny = [(number, day) for number, day in of.numbered if day.direct_sun_hours_if_clear > DEEP_SHADE_H]
    compare(beyond(of, ((number, day.outdoor_hours) for number, day in sunny)))


@pytest.mark.parametrize("case", [case for case in CASES if case.way == "longer"], ids=lambda case: case.name)
@outside(
    BOTH,
    'daylight outside beyond the published hours, on every day of a batch with `way = "longer"`',
    within="at most 0 h",
    because="the hours are the publication's own",
)
def test_the_longer_way_keeps_the_published_hours_every_day(case, rule):
    """By the days outside and by ramp-days, sun or none."""
    of = planned(rule, case)
    compare(beyond(of, ((number, day.outdoor_hours) for number, day in of.numbered)))


@outside(
    BOTH,
    "hours that a day of a plan allows beyond the published ones",
    within="at most 0 h",
    because="what is printed beside the plan is the publication's own number",
)
def test_the_hours_allowed_are_the_published_ones(plan_of):
    """Also where weather or carer leave the day shorter."""
    compare(beyond(plan_of, ((number, day.limits.outdoor_hours) for number, day in plan_of.numbered)))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
@outside(
    PURDUE,
    "direct sun, if clear, of a plan by `three_steps` beyond the open hours that its shade stands for",
    within="at most 0 h",
    because="half shade for 4 h is 2 h of sun, a fifth for 8 h is 6.4 h",
)
def test_the_three_steps_keep_their_shade(case):
    """By the days outside and by the ramp-days of sun; the day's limit as well as what is planned."""
    of = planned("three_steps", case)
    over = [
        sun - of.publication.sun_on(at)
        for number, day in of.days
        for at in (number, reached(day.state.sun))
        if np.isfinite(of.publication.sun_on(at))
        for sun in (day.direct_sun_hours_if_clear, sun_allowed(day))
    ]
    compare(np.round(over, 9))


def sun_allowed(day):
    """The day's limit of direct sun; none is no limit."""
    return np.inf if day.limits.direct_sun_hours is None else day.limits.direct_sun_hours


# --- air and nights -----------------------------------------------------------------------------------


def celsius(fahrenheit):
    return (fahrenheit - 32.0) / 1.8


@outside(
    BOTH,
    "least air outside that a plan by either rule asks for, less the published one for days",
    within="0 to 0.01 C",
    because="degrees F to a hundredth of a degree C",
)
def test_the_least_air_asked_for_is_the_published_one(plan_of):
    """On every day outside."""
    compare([day.limits.least_air_c - celsius(plan_of.publication.day_f) for _, day in plan_of.days])


@outside(
    BOTH,
    "forecast air while a plan by either rule has a batch outside, less the published least for days or nights",
    within="at least 0 C",
    because="colder air than it says is no weather to go out in",
)
def test_the_air_outside_is_never_below_the_published_one(plan_of):
    """Quarter hour by quarter hour; from sunset to noon the night's bound, where the night is spent outside."""
    compare([spare for _, day in plan_of.days for spare in spare_air(plan_of, day)])


def spare_air(of, day):
    """Air less the published least, at every quarter hour outside."""
    sunset = rise_set(PLACE, date_of(day)).sunset
    for place in day.placements:
        for quarter in range(round((place.end - place.start) / (HOUR / 4))):
            at = place.start + quarter * HOUR / 4
            from_night = stood_out_at_midnight(day, 0) and at.hour < 12
            into_night = stood_out_at_midnight(day, -1) and at >= sunset
            least_f = of.publication.night_f if from_night or into_night else of.publication.day_f
            yield of.air_c.asof(pd.Timestamp(at)) - celsius(least_f)


def stood_out_at_midnight(day, which):
    """Whether the date begins (0) or ends (-1) outside."""
    place = day.placements[which]
    at = place.start if which == 0 else place.end
    return at == datetime.combine(date_of(day) + timedelta(days=-which), time(0), PLACE.tz)


@outside(
    BOTH,
    "days outside before the first night that a plan by either rule allows, less the published ones",
    within="at least 0 d",
    because="nights come on day 7 (Purdue) and after day 7 (Green Bay)",
)
def test_no_night_is_allowed_before_the_published_one(plan_of):
    """By the days outside and by ramp-days; a batch stays out only where it is allowed."""
    nights = [number for number, day in plan_of.numbered if day.limits.nights_out]
    compare([number - plan_of.publication.first_night for number in nights])
    for _, day in plan_of.days:
        assert day.limits.nights_out or not stood_out_at_midnight(day, -1)


@outside(
    BOTH,
    "air below which a night outside is called off by either rule, less the published 50 F",
    within="at least 0 C",
    because="a crop may ask for more",
)
def test_a_night_outside_is_as_warm_as_published(plan_of):
    """And no warmer number than it is printed."""
    nights = [day.night for _, day in plan_of.days if stood_out_at_midnight(day, -1)]
    compare([night.check_below_c - celsius(plan_of.publication.night_f) for night in nights])
    assert all(night.air_low_c >= celsius(plan_of.publication.night_f) for night in nights)
