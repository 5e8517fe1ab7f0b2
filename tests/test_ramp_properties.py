"""Properties of the whole plan: colder nights, missed days, move windows, and the plan against exhaustive search.

Every case is numbered; its number makes it again. The weather is invented.
"""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from test_ramp_choice import brute_force, questions
from test_ramp_laws import CLOTH, random_weather
from validation import compare, outside
from weather import FIRST, HOME, MORNING, OPEN, PLACE, SHADED, SPOTS, WORK, Weather, garden, hand_state

from hardenoff.ramp import asking
from hardenoff.ramp.capacity import DayBook
from hardenoff.ramp.choice import choose, choose_all
from hardenoff.ramp.credit import (
    BAND_COST,
    CATCH_UP,
    DULL_DAY,
    FULL_AIR,
    FULL_SUN,
    FULLNESS_WORTH,
    LEAST_USED_TO_MOL,
    LIGHT_KEPT_WORTH,
    MOVE_COST,
    SHELTERED,
)
from hardenoff.ramp.day import Run
from hardenoff.ramp.heard import Heard
from hardenoff.ramp.limits import NO_SUN_TOLERATED_H, SEEKS_SUN_H
from hardenoff.ramp.logbook import BatchLog, DayDone
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import build_scene
from hardenoff.ramp.table import INSIDE_AT, Sum
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import Span
from hardenoff.schedule.plans import plan_all
from hardenoff.sun.light import with_radiation

OUTWARD = {"out": 0, "cover": 1, "in": 2, "unknown": 3}


def planner_of(of, forecast, days, told=None):
    """A planner from the first day on, with what was told of its batch."""
    scene = build_scene(of, with_radiation(forecast, PLACE), FIRST, FIRST + timedelta(days=days), FIRST, Heard())
    log = {} if told is None else {"seedlings": BatchLog(days=told)}
    return Planner(garden=of, scene=scene, watch=NightWatch(scene, of.risk, FIRST), today=FIRST, logbook=log)


def stays(planner, outcome):
    """(begin, end, spot) of a day's stays outside, in quarter hours of the scene."""
    begin = planner.scene.starts[planner.scene.index(outcome.date)]
    return [
        (begin + first, begin + last, outcome.table.names[place])
        for place, first, last in outcome.route.stays(outcome.table.quarters)
        if place != INSIDE_AT
    ]


# --- a colder night ----------------------------------------------------------------------------------


def outside_between(planner, days, begin, end):
    """Quarter hours outside between two quarter hours of the scene."""
    overlaps = (min(last, end) - max(first, begin) for day in days for first, last, _ in stays(planner, day))
    return sum(max(0, overlap) for overlap in overlaps)


@pytest.mark.parametrize("seed", range(12))
def test_a_colder_night_brings_nothing_out(seed):
    """Only the hours between dusk and dawn of one night fall: its verdict never turns outward, and from dusk to
    the next noon the batch is never outside for longer."""
    random = np.random.default_rng(seed)
    level = random.uniform(4.0, 12.0)
    of = garden(
        ("tomato", "cabbage", "basil")[seed % 3],
        week=(HOME, WORK)[seed % 2],
        spots=(SHADED, MORNING, OPEN),
        state=hand_state(air=level, sun=level, cold=1.0, light_mol=random.uniform(15.0, 40.0)),
    )
    weather = random_weather(random, PLACE)
    warm = planner_of(of, weather, 4)
    evening = int(random.integers(0, 3))
    dusk, dawn = warm.scene.sunsets[evening], warm.scene.sunrises[evening + 1]
    frame = weather.hours.copy()
    begins = frame.index
    dark = (begins >= warm.scene.moment(dusk)) & (begins + timedelta(hours=1) <= warm.scene.moment(dawn))
    assert dark.sum() >= 7
    frame.loc[dark, "air_temperature_c"] -= random.uniform(0.5, 6.0)
    cold = planner_of(of, replace(weather, hours=frame), 4)
    until = FIRST + timedelta(days=evening + 1)
    plans = [each.plan(of.batches, until)["seedlings"] for each in (warm, cold)]
    noon = warm.scene.starts[evening + 1] + 48
    for spot in warm.scene.tracks:
        name = spot.spot.name
        verdicts = [days[evening].night.spots[name][1].verdict for days in plans]
        assert OUTWARD[verdicts[1]] >= OUTWARD[verdicts[0]]
    assert plans[0][evening].night.chosen is not None or plans[1][evening].night.chosen is None
    hours = [outside_between(warm, days, dusk, noon) for days in plans]
    assert hours[1] <= hours[0]


# --- missed days ---------------------------------------------------------------------------------------


MORNING_NOON_EVENING = ((Span(7 * 60, 8 * 60), Span(12 * 60, 13 * 60), Span(18 * 60, 21 * 60)),) * 7
EARLY_AND_LATE = ((Span(6 * 60, 7 * 60), Span(18 * 60, 21 * 60)),) * 7
CARERS = {
    "tomato, home": ("tomato", HOME),
    "tomato, morning, noon, evening": ("tomato", MORNING_NOON_EVENING),
    "tomato, early and late": ("tomato", EARLY_AND_LATE),
    "cabbage, home": ("cabbage", HOME),
    "cabbage, morning, noon, evening": ("cabbage", MORNING_NOON_EVENING),
}


@pytest.fixture(scope="module", params=CARERS.values(), ids=list(CARERS))
def finish(request):
    """The finish in settled weather, as days from the first, where some days are told as spent inside."""
    crop, week = request.param
    of = garden(crop, week=week, start=FIRST)
    base = planner_of(of, Weather(days=14).forecast(), 30)

    def with_missed(missed):
        told = {FIRST + timedelta(days=day): DayDone("inside") for day in missed}
        planner = replace(base, logbook={"seedlings": BatchLog(days=told)})
        return days_to_go(planner, planner.plan(of.batches, FIRST + timedelta(days=28))["seedlings"])

    return with_missed


def days_to_go(planner, days):
    """Days from the first to the one at whose end the batch is hardened."""
    batch = planner.garden.batches[0]
    done = (day for day in days if planner.hardened(batch, day.after, planner.scene.index(day.date)))
    return (next(done).date - FIRST).days + 1


@pytest.mark.parametrize("start", [0, 1, 3, 5, 8, 10])
@pytest.mark.parametrize("missed", range(1, 8))
def test_missed_days_slip_the_finish_by_little_more_than_themselves(finish, missed, start):
    """In settled weather, with somebody there often enough that every day earns a full step, n days inside cost
    n + 2 days at most, and one costs two at most."""
    assert finish(range(start, start + missed)) <= finish(()) + min(missed + 2, 2 * missed)


# --- move windows --------------------------------------------------------------------------------------


def random_carer(random, first):
    """Odd windows by weekday and by date, and days away."""

    def windows():
        begins = random.integers(240, 1320, size=random.integers(0, 4))
        return tuple(Span(int(at), int(min(1440, at + random.integers(10, 300)))) for at in sorted(begins))

    gone = first + timedelta(days=int(random.integers(1, 4)))
    return {
        "week": tuple(windows() for _ in range(7)),
        "carer": {
            "dates": {first + timedelta(days=int(day)): windows() for day in random.integers(0, 6, size=2)},
            "away": ((gone, gone + timedelta(days=int(random.integers(0, 2)))),),
            "trays_per_trip": int(random.integers(1, 4)),
        },
    }


@pytest.mark.parametrize("first", [date(2027, 3, 12), date(2027, 11, 5), FIRST], ids=["spring", "autumn", "may"])
@pytest.mark.parametrize("seed", range(6))
def test_no_move_is_asked_for_outside_a_window(seed, first):
    """Also on dates of their own, around days away, and while the clock is changed: every carry begins and ends
    within one window, and whoever is outside at midnight is outside on the other side of it."""
    random = np.random.default_rng(seed)
    asked = random_carer(random, first)
    level = random.uniform(0.0, 12.0)
    state = hand_state(on=first, air=level, sun=level, cold=1.0, light_mol=random.uniform(10.0, 40.0))
    of = garden("cabbage", state=state, trays=int(random.integers(1, 6)), **asked)
    planner, plans = plan_all(of, Weather(first=first, days=7).forecast(), first)
    minutes = -(-of.batches[0].trays // of.carer.trays_per_trip) * of.carer.minutes_per_trip
    stood = None
    for outcome in plans["seedlings"][:9]:
        if outcome.route is None:
            continue
        begin = planner.scene.starts[planner.scene.index(outcome.date)]
        for quarter in outcome.route.moves:
            at = planner.scene.moment(begin + quarter)
            assert within_a_window(of.carer, outcome.date, at, minutes), (outcome.date, at)
        names = [outcome.table.names[place] for place, _, _ in outcome.route.stays(outcome.table.quarters)]
        assert stood is None or names[0] == stood
        stood = names[-1]


def within_a_window(carer, on, at, minutes):
    """Whether a carry of so many minutes fits into a window of the wall clock."""
    for span in carer.spans(on):
        begin, end = (wall(on, minute) for minute in (span.start_min, span.end_min))
        if begin <= at and at + timedelta(minutes=minutes) <= end:
            return True
    return False


def wall(on, minute):
    """A time of the place's wall clock."""
    return datetime.combine(on + timedelta(days=minute // 1440), time(minute % 1440 // 60, minute % 60), PLACE.tz)


# --- the day's choice as a mixed-integer programme -----------------------------------------------------------


class Programme:
    """Rows and columns of a MILP, added one after the other; maximizes."""

    def __init__(self):
        self.lower, self.upper, self.whole, self.worth, self.rows = [], [], [], [], []

    def add(self, lower, upper, worth=0.0, whole=False):
        """A variable; its index."""
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(int(whole))
        self.worth.append(worth)
        return len(self.worth) - 1

    def keep(self, terms, least=-np.inf, most=np.inf):
        """least <= sum of coefficient x variable <= most."""
        self.rows.append((dict(terms), least, most))

    def best(self):
        """The largest worth; None if nothing is allowed."""
        matrix = np.zeros((len(self.rows), len(self.worth)))
        for row, (terms, _, _) in enumerate(self.rows):
            for variable, coefficient in terms.items():
                matrix[row, variable] += coefficient
        limits = LinearConstraint(matrix, [row[1] for row in self.rows], [row[2] for row in self.rows])
        bounds = Bounds(self.lower, self.upper)
        found = milp(
            -np.array(self.worth),
            constraints=limits,
            integrality=self.whole,
            bounds=bounds,
            options={"mip_rel_gap": 0.0},
        )
        return None if found.x is None else -found.fun


def by_programme(question):
    """Best score of a day that begins and ends inside, as a MILP: where it stands between two times to carry."""
    asked, limits, table = question.asked, question.asked.limits, question.table
    edges = (0, *question.times, table.quarters)
    spans = list(pairwise(edges))
    of = Programme()
    stands = {
        (place, span): of.add(0, 1, whole=True) for place in range(len(table.names)) for span in range(len(spans))
    }

    def total(row):
        """A total as a sum over the stands."""
        return {
            variable: table.totals[row, place, spans[span][1]] - table.totals[row, place, spans[span][0]]
            for (place, span), variable in stands.items()
        }

    def below(variable, row, share):
        """variable <= share x total."""
        of.keep({variable: 1.0, **{key: -share * value for key, value in total(row).items()}}, most=0.0)

    for span in range(len(spans)):
        of.keep({stands[place, span]: 1.0 for place in range(len(table.names))}, 1.0, 1.0)
    of.keep({stands[INSIDE_AT, 0]: 1.0}, 1.0)
    of.keep({stands[INSIDE_AT, len(spans) - 1]: 1.0}, 1.0)
    moved = [of.add(0, 1, -MOVE_COST) for _ in spans[1:]]
    for span, variable in enumerate(moved, start=1):
        for place in range(len(table.names)):
            of.keep({variable: 1.0, stands[place, span]: -1.0, stands[place, span - 1]: 1.0}, 0.0)
    of.keep(dict.fromkeys(moved, 1.0), most=question.moves_most)

    great = 100.0
    sheltered = of.add(0, 0 if asked.longer_only else 1, whole=True)
    of.keep(total(Sum.BARRED), most=0.0)
    of.keep(total(Sum.HOURS), least=0.01)
    of.keep({**total(Sum.HOURS), sheltered: -great}, most=limits.outdoor_h)
    of.keep({**total(Sum.HOURS), sheltered: -great}, least=limits.outdoor_h + 1e-6 - great)
    of.keep(total(Sum.LIGHT_MOST), most=limits.light_mol)
    if np.isfinite(limits.sun_h):
        of.keep(total(Sum.SUN_CLEAR), most=limits.sun_h)
        unsure = of.add(0, 1, -BAND_COST, whole=True)
        of.keep({**total(Sum.SUN_BAND), unsure: -great}, most=limits.sun_h)
    if not limits.sun_hours_told:
        of.keep({**total(Sum.SUN_CLEAR), sheltered: great}, most=NO_SUN_TOLERATED_H + great)

    air = of.add(0, 1, asked.weights.air)
    below(air, Sum.HOURS, 1.0 / (FULL_AIR * asked.hours))
    of.keep({air: 1.0, sheltered: 1.0 - SHELTERED}, most=1.0)
    of.keep(
        {
            air: 1.0,
            sheltered: great,
            **{k: -SHELTERED / (FULL_AIR * asked.hours) * v for k, v in total(Sum.HOURS).items()},
        },
        most=great,
    )
    earned = of.add(0, 1, (CATCH_UP if limits.lagging else 1.0) * asked.weights.sun)
    target, full = limits.sun_target_h, FULL_SUN * asked.light_mol
    seeks = target is not None and target >= SEEKS_SUN_H
    if target is not None and not seeks:
        of.keep({earned: 1.0, air: -1.0}, most=0.0)
    elif target is None:
        below(earned, Sum.LIGHT_OUT, 1.0 / full)
    else:
        dull = of.add(0, 1, whole=True)
        shares = [(Sum.SUN_LIKELY, 1.0 / (FULL_SUN * target))]
        shares += [(Sum.LIGHT_OUT, 1.0 / full)] if limits.near_end else []
        for row, share in shares:
            of.keep({earned: 1.0, dull: -1.0, **{k: -share * v for k, v in total(row).items()}}, most=0.0)
        of.keep({earned: 1.0, dull: 1.0 - DULL_DAY}, most=1.0)
        share = DULL_DAY / (FULL_SUN * target)
        of.keep({earned: 1.0, dull: 1.0, **{k: -share * v for k, v in total(Sum.SUN_CLEAR).items()}}, most=1.0)

    reached = [(Sum.HOURS, 1.0 / asked.hours)]
    reached += [(Sum.SUN_LIKELY, 1.0 / target)] if seeks else []
    reached += [(Sum.LIGHT_OUT, 1.0 / asked.light_mol)] if target is None or limits.near_end else []
    for row, share in reached:
        below(of.add(0, 1, FULLNESS_WORTH), row, share)
    if asked.weights.light > 0.0:
        below(of.add(0, 1, asked.weights.light), Sum.LIGHT_LIKELY, 1.0 / asked.light_mol)
    if seeks or target is None:
        below(of.add(0, 1, LIGHT_KEPT_WORTH), Sum.LIGHT_LIKELY, 1.0 / max(asked.used_to_mol, LEAST_USED_TO_MOL))
    for variable, strain in total(Sum.STRAIN).items():
        of.worth[variable] -= strain
    return of.best()


@pytest.mark.parametrize("seed", range(8))
@outside(
    "scipy.optimize.milp (HiGHS), the day written as a mixed-integer programme",
    "score of the day that is chosen, with few times to carry, none within the hour of another",
    within="0.00001",
    because="the solver's own tolerance is 1e-6 on each of some dozens of rows; a score is about 2",
    kind="library",
)
def test_the_choice_is_that_of_a_mixed_integer_programme(monkeypatch, seed):
    """The search, brute force and the solver: the same score."""
    random = np.random.default_rng(100 + seed)
    level = random.uniform(0.0, 12.0)
    state = hand_state(air=level, sun=random.uniform(0.0, 12.0), light_mol=random.uniform(8.0, 35.0))
    rule = (None, "three_steps", "half_hour_first")[seed % 3]
    of = garden(
        spots=(SHADED, OPEN, CLOTH), state=state, rule=rule, carer={"moves_per_day": 3}, plant_out_at="open bed"
    )
    compared = 0
    for question in questions(monkeypatch, of, random_weather(random, PLACE))[:5]:
        if question.start_at != INSIDE_AT or not question.times:
            continue
        small = replace(question, times=question.times[::8], night_places=())
        best, chosen, solved = brute_force(small), choose(small), by_programme(small)
        assert (best is None) == (chosen is None) == (solved is None)
        if best is not None:
            assert chosen.score == pytest.approx(best, abs=1e-9)
            compare(chosen.score, solved)
            compared += 1
    assert compared > 0


# --- the plan against every plan ---------------------------------------------------------------------------


OPTIONS = (
    choose,
    lambda question: None,
    lambda question: choose(replace(question, asked=replace(question.asked, longer_only=True))),
    lambda question: choose(replace(question, moves_most=2, night_places=())),
)
"""The planner's own day, a day inside, the longer way, and a day of one outing that is home by night."""


SETTLED_DAYS = 16
"""Days looked at after the six, in settled weather."""


def fewest_days(planner, run, day, monkeypatch, options, known):
    """Fewest days to go until hardened, over all orders of the options on the first six days."""
    if planner.hardened(run.batch, run.state, day):
        return day
    if day == 6:
        return known_days_to_go(planner, run, monkeypatch, known)
    fewest, tried = 999, set()
    for option in options:
        monkeypatch.setattr(asking, "choose_all", lambda questions: [option(each) for each in questions])  # noqa: B023
        other = replace(run, kept_carry=None)
        outcome = planner.planned_day(other, day, DayBook(), DayBook())
        if (outcome.route.places, outcome.route.moves) in tried:
            continue
        tried.add((outcome.route.places, outcome.route.moves))
        other.state, other.place = outcome.after, outcome.night.chosen or "inside"
        fewest = min(fewest, fewest_days(planner, other, day + 1, monkeypatch, options, known))
    return fewest


def known_days_to_go(planner, run, monkeypatch, known):
    """Days to go from the seventh morning on, by the plan itself; alike states are looked at once."""
    state = run.state
    alike = (*(round(axis, 2) for axis in (state.air, state.sun, state.cold)), round(state.light_mol, 1))
    alike = (*alike, run.place, state.idle_days, round(state.idle_lost, 2))
    if alike not in known:
        monkeypatch.setattr(asking, "choose_all", choose_all)
        first = FIRST + timedelta(days=6)
        days = planner.resume(run.batch, state, first, first + timedelta(days=SETTLED_DAYS))
        known[alike] = days_to_go(planner, days)
    return known[alike]


@pytest.mark.parametrize("seed", [0, 1, 4, 6, 7, 10])
@outside(
    "all orders of up to four options a day through six days of random weather, then settled weather",
    "days until hardened, over the fewest of them",
    within="at most 1.02",
    because="less than a day in a fortnight: each day is chosen for itself",
    kind="anew",
)
def test_the_plan_is_near_the_best_of_all_plans(monkeypatch, seed):
    """Six days of random weather with up to four options each, then settled weather: the days to go until hardened
    are within 2 % of the fewest that any order of the options comes to."""
    random = np.random.default_rng(seed)
    level = random.uniform(0.0, 6.0)
    state = hand_state(air=level, sun=max(0.0, level - 1.0), light_mol=random.uniform(12.0, 25.0))
    week = ((Span(7 * 60, 7 * 60 + 30), Span(12 * 60, 12 * 60 + 30), Span(18 * 60, 18 * 60 + 45)),) * 7
    of = garden(spots=SPOTS, week=week, state=state, carer={"moves_per_day": 3})
    planner = planner_of(of, random_weather(random, PLACE), 7 + SETTLED_DAYS)
    run, known = Run(of.batches[0], planner.opening(of.batches[0])), {}
    planned = fewest_days(planner, run, 0, monkeypatch, OPTIONS[:1], known)
    fewest = fewest_days(planner, run, 0, monkeypatch, OPTIONS, known)
    compare(planned / fewest)
    assert len(known) > 10
