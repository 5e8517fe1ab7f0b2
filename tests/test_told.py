"""What was really done beats what was planned: told days, missed days, and the same state however it is told."""

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest
from weather import FIRST, HOME, MORNING, OPEN, PLACE, SHADED, WORK, Weather, garden

from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import BatchLog, DayDone, Stay, SunNoted
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import build_scene
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import HandState
from hardenoff.sun.light import with_radiation

DAYS = 8
TODAY = FIRST + timedelta(days=DAYS)


def at(day, hour, minute=0):
    """A wall-clock time on a day of the plan, counted from 0."""
    return datetime.combine(FIRST + timedelta(days=day), time(hour, minute), PLACE.tz)


def planner(days=None, weather=None, today=TODAY, **batch):
    """A planner whose batch began on the first day, with what was told of it."""
    of = garden(start=FIRST, **batch)
    forecast = with_radiation((weather or Weather(days=12)).forecast(), PLACE)
    scene = build_scene(of, forecast, FIRST, today + timedelta(days=3), today, Heard())
    told = {FIRST + timedelta(days=day): done for day, done in (days or {}).items()}
    logbook = {"seedlings": BatchLog(days=told)}
    return Planner(garden=of, scene=scene, watch=NightWatch(scene, of.risk, today), today=today, logbook=logbook)


def states(days=None, **more):
    """The state at 00:00 of every date to today."""
    of = planner(days, **more)
    return [day.state for day in of.plan(of.garden.batches, of.today)["seedlings"]]


ALL_DONE = {day: DayDone("as_planned") for day in range(DAYS)}


def test_days_told_as_done_are_known():
    """Done as planned: full credit, and the limits are read where the plants stand."""
    last = states(ALL_DONE)[-1]
    assert last.confidence == "known"
    assert (last.air, last.sun) == pytest.approx((8.0, 8.0), abs=0.3)


def test_days_nobody_speaks_of_are_assumed():
    """The same credit at less trust."""
    assert states()[-1].confidence == "assumed"


def test_telling_one_day_restores_trust():
    """Once told again, the planner steps at its full pace."""
    assert states({DAYS - 1: DayDone("as_planned")})[-1].confidence == "known"


def test_two_days_told_inside_cost_two_days_and_a_third():
    """Level 6.0 -> 5.7 after two days missed, never day 1."""
    missed = {**ALL_DONE, 6: DayDone("inside"), 7: DayDone("inside")}
    told = states(missed)
    assert told[8].air == pytest.approx(told[6].air - 1 / 3)


def test_hours_told_earn_what_they_were_worth():
    """Half of day 1's hours earn half of its air; the sun's rule asks for nothing that day and follows."""
    half = {0: DayDone("stays", (Stay(SHADED.name, at(0, 10), at(0, 11, 8)),))}
    told = states(half)[1]
    assert told.air == pytest.approx(1.125 / 2.25, abs=0.06)
    assert told.sun == pytest.approx(told.air)


def test_left_out_longer_counts_as_the_sheltered_way():
    """Fetched in hours late: more than the rule's hours earn three quarters."""
    late = {0: DayDone("as_planned", out_until=at(0, 23))}
    early = {0: DayDone("stays", (Stay(SHADED.name, at(0, 10), at(0, 20)),))}
    assert states(early)[1].air == pytest.approx(0.75)
    assert states(late)[1].air == pytest.approx(1.0)


def test_sun_really_seen_replaces_the_likely_sun():
    """A dull forecast, but the sun was seen for two hours: the credit is the seen one's."""
    days = {day: DayDone("as_planned") for day in range(5)}
    stay = (Stay(MORNING.name, at(5, 8), at(5, 14)),)
    dull = Weather(days=12, cloud=1.0)
    unseen = states({**days, 5: DayDone("stays", stay)}, weather=dull)
    noted = (SunNoted(MORNING.name, at(5, 8), at(5, 10)),)
    seen = states({**days, 5: DayDone("stays", stay, sun=noted)}, weather=dull)
    assert seen[6].sun > unseen[6].sun


def test_damage_repeats_the_step():
    """A day on which damage was seen passes no step."""
    hurt = {**ALL_DONE, 5: DayDone("as_planned", damage=True)}
    told = states(hurt)
    assert (told[6].air, told[6].sun) == (told[5].air, told[5].sun)


def test_a_night_out_told_earns_cold():
    """A stay over midnight is a night outside, whatever the rule says by then."""
    out = {
        0: DayDone("stays", (Stay(SHADED.name, at(0, 18), at(1, 7)),)),
        1: DayDone("stays", (Stay(SHADED.name, at(0, 18), at(1, 7)),)),
    }
    assert states(out)[1].cold == 1.0


@pytest.mark.parametrize(
    "after", [DayDone("inside"), DayDone("as_planned"), None], ids=["inside", "done", "unsaid"]
)
def test_a_carry_kept_for_the_morning_is_given_back_whatever_is_told_of_the_day(after):
    """The night was planned outside; the day after is told as spent inside, or as done, or not at all: the days to
    come are planned all the same."""
    ready = HandState(on=FIRST, air=11.0, sun=11.0, cold=1.0, light_mol=25.0)
    told = {0: DayDone("as_planned"), 2: DayDone("as_planned")} | ({} if after is None else {1: after})
    for today in (FIRST, FIRST + timedelta(days=3)):
        of = planner(told, today=today, state=ready)
        days = of.plan(of.garden.batches, FIRST + timedelta(days=3))["seedlings"]
        assert days[0].night.chosen is not None
        assert len(days) == 4


def test_replay_of_all_is_replay_of_the_rest_from_the_first():
    """replay(a + b) equals replay of b from replay(a)."""
    told = {**ALL_DONE, 3: DayDone("inside"), 4: DayDone("inside"), 6: DayDone("as_planned", damage=True)}
    whole = planner(told)
    days = whole.plan(whole.garden.batches, TODAY)["seedlings"]
    middle = days[5].state
    rest = whole.resume(whole.garden.batches[0], middle, FIRST + timedelta(days=5), TODAY)
    assert rest[-1].state == days[-1].state


@pytest.mark.parametrize(
    ("week", "weather"),
    [
        (HOME, Weather(days=12)),
        (WORK, Weather(days=12, cloud=0.6)),
        (HOME, Weather(days=12, low_c=9.0, gust_m_s=6.0)),
    ],
    ids=["home, settled", "at work, cloudy", "home, cool and windy"],
)
def test_days_done_as_planned_leave_the_rest_of_the_plan_as_it_was(week, weather):
    """Nothing changed and the plan was followed: the days still to come stay the same (spread frozen)."""
    of = garden(start=FIRST, week=week)
    forecast = with_radiation(weather.forecast(), PLACE)

    def routes(today, told):
        scene = build_scene(of, forecast, FIRST, FIRST + timedelta(days=13), today, Heard())
        watch = NightWatch(scene, of.risk, FIRST)
        log = {
            "seedlings": BatchLog(days={FIRST + timedelta(days=day): DayDone("as_planned") for day in range(told)})
        }
        plans = Planner(garden=of, scene=scene, watch=watch, today=today, logbook=log).plan(
            of.batches, FIRST + timedelta(days=11)
        )
        return [(day.date, day.route.places, day.route.moves) for day in plans["seedlings"] if day.date >= TODAY]

    assert routes(TODAY, DAYS) == routes(FIRST, 0)


def test_planted_plants_are_watched_not_carried():
    """From the day they were planted out nothing is moved, and nights are judged at the planting spot."""
    of = planner()
    log = {"seedlings": BatchLog(planted_on=TODAY - timedelta(days=1))}
    days = replace(of, logbook=log).plan(of.garden.batches, TODAY)["seedlings"]
    assert (days[-1].stage, days[-1].route, days[-1].night.chosen) == ("planted", None, OPEN.name)
