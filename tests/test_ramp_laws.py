"""Laws of the plan over random gardens and random weather: what may never happen, whatever the forecast says."""

from datetime import timedelta
from functools import cache
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from weather import FIRST, HOME, MORNING, OPEN, PLACE, SHADED, WORK, Weather, garden, hand_state, plan, rows

from hardenoff.ramp.table import INSIDE_AT, Sum
from hardenoff.records import Place, ShelterArc, Span, Spot, Tree
from hardenoff.schedule.plans import plan_all
from hardenoff.tables import load_crops

CLOTH = Spot("open bed, cloth", shade=0.5, like="open bed")
HEDGE = Spot("by the hedge", trees=(Tree(90.0, 270.0, 0.0, 60.0, 0.2, 0.5, (5, 1), (11, 1)),))
STEEP = Spot("court", skyline=((0.0, 50.0), (180.0, 30.0)), shelter=(ShelterArc(0.0, 360.0, 0.25),))
ALL_SPOTS = (SHADED, MORNING, OPEN, CLOTH, HEDGE, STEEP)
PLACES = (
    PLACE,
    Place("Nuuk side", 64.2, -51.7, 20.0, "America/Nuuk"),
    Place("Cuyo", -33.0, -68.8, 800.0, "America/Argentina/Mendoza"),
    Place("Deccan", 17.4, 78.5, 540.0, "Asia/Kolkata"),
)

CROPS = ("tomato", "sweet_pepper", "cabbage", "basil")
RULES = (None, "twelve_days", "three_steps", "half_hour_first")
CASES = 24


def random_weather(random, place):
    """A week of weather with random nights, days, gusts, clouds, showers and holes."""
    base = Weather(place=place, days=6)
    frame = base.frame()
    dates = frame.index.dayofyear
    for day in np.unique(dates):
        at = dates == day
        frame.loc[at, "air_temperature_c"] += random.normal(-3.0, 5.0)
        frame.loc[at, "wind_gust_m_s"] = abs(random.normal(5.0, 4.0))
        frame.loc[at, "wind_from_deg"] = random.uniform(0.0, 360.0)
        frame.loc[at, ["cloud_cover_frac", "cloud_low_frac"]] = random.choice([0.0, 0.3, 0.9, 1.0])
        if random.random() < 0.2:
            frame.loc[at, "precipitation_mm"] = 8.0
    if random.random() < 0.5:
        hole = int(random.integers(0, len(frame) - 12))
        frame.iloc[hole : hole + int(random.integers(1, 12))] = np.nan
    return base.forecast(frame)


def random_week(random):
    """Someone home, someone at work, or up to three odd windows a day (none at all among them)."""
    if random.random() < 0.5:
        return HOME if random.random() < 0.5 else WORK
    begins = random.integers(300, 1200, size=random.integers(0, 4))
    return (tuple(Span(int(begin), int(min(1440, begin + random.integers(15, 240)))) for begin in begins),) * 7


def random_case(seed):
    """A garden, its forecast, its planner and its plan."""
    random = np.random.default_rng(seed)
    place = PLACES[random.integers(len(PLACES))]
    picked = random.choice(len(ALL_SPOTS), size=random.integers(1, 5), replace=False)
    level = random.uniform(0.0, 12.0)
    sun = max(0.0, level - random.uniform(0.0, 3.0))
    state = hand_state(air=level, sun=sun, light_mol=random.uniform(1.0, 50.0))
    of = garden(
        CROPS[random.integers(len(CROPS))],
        place=place,
        week=random_week(random),
        spots=tuple(ALL_SPOTS[index] for index in sorted(picked)),
        rule=RULES[random.integers(len(RULES))],
        state=state if random.random() < 0.6 else None,
        start=FIRST,
        nights=bool(random.random() < 0.7),
        trays=int(random.integers(1, 9)),
        carer={"moves_per_day": int(random.integers(1, 5))},
    )
    forecast = random_weather(random, place)
    _, plans = plan_all(of, forecast, FIRST)
    return of, plan(of, forecast), plans["seedlings"]


@cache
def made(seed):
    """Each case is planned once."""
    return random_case(seed)


@pytest.fixture(scope="module", params=range(CASES), ids=lambda seed: f"seed{seed}")
def case(request):
    """One random case; the seed in the test's name makes it again."""
    return made(request.param)


def test_the_cases_have_what_the_laws_speak_of():
    """A law over outings says nothing of days inside: many days go out, also into sun, and nights differ."""
    days = [day for seed in range(CASES) for day in rows(made(seed)[1])]
    out = [day for day in days if day.verdict == "out"]
    assert len(out) > 0.4 * len(days)
    assert sum(day.direct_sun_hours_if_clear > 0.5 for day in out) > len(out) / 4
    limits = [day.limits.direct_sun_hours for day in out]
    assert sum(limit is not None and limit < 24.0 for limit in limits) > len(out) / 4
    assert {"out", "in", "unknown"} <= {day.night.verdict for day in days}
    assert any(
        outcome.table is not None and not outcome.went_out for seed in range(CASES) for outcome in made(seed)[2]
    )


def test_no_plan_breaks_a_limit_if_the_sky_clears(case):
    """No if-clear direct sun and no light above the day's limit, whatever the cloud forecast says."""
    for day in rows(case[1]):
        if day.limits.direct_sun_hours is not None:
            assert day.direct_sun_hours_if_clear <= day.limits.direct_sun_hours + 1e-6
        assert day.light_mol_if_clear <= day.limits.light_mol + 1e-6


def test_likely_never_exceeds_if_clear(case):
    """What is likely lies below what could be."""
    for day in rows(case[1]):
        if day.direct_sun_hours_likely is not None:
            assert day.direct_sun_hours_likely <= day.direct_sun_hours_if_clear + 1e-6
        if day.light_mol_likely is not None:
            assert day.light_mol_likely <= day.light_mol_if_clear + 1e-6


def test_only_a_night_that_is_out_is_spent_outside(case):
    """A night that is in or unknown ends with the batch inside."""
    for day in case[1].days:
        batch = day.batches[0]
        if batch.night is not None and batch.night.verdict not in ("out", "cover"):
            assert not batch.placements or batch.placements[-1].end.date() == day.date


def test_a_night_without_odds_is_unknown(case):
    """Holes in the forecast never read as safe."""
    assert all((day.night.odds_check is None) == (day.night.verdict == "unknown") for day in rows(case[1]))


def test_every_move_is_inside_a_move_window(case):
    """Nobody is asked to carry when nobody is there, and never more often than agreed."""
    of, schedule, _ = case
    for day in schedule.days:
        edges = {edge for place in day.batches[0].placements for edge in (place.start, place.end)}
        moves = {edge for edge in edges if (edge.hour, edge.minute) != (0, 0)}
        spans = of.carer.spans(day.date)
        for at in moves:
            assert any(span.start_min <= at.hour * 60 + at.minute <= span.end_min for span in spans)
        assert len(moves) <= of.carer.moves_per_day


def test_keeping_in_is_no_way_to_pass(case):
    """Where any stay at one spot between two allowed times keeps gates and limits, the day has an outing."""
    for outcome in case[2]:
        if outcome.table is None or outcome.went_out or case[0].carer.moves_per_day < 2:
            continue
        limits, light = outcome.limits, outcome.table.totals[Sum.LIGHT_MOST, INSIDE_AT]
        for place, (begin, end) in product(range(1, len(outcome.table.names)), pairs(outcome.times)):
            stay = outcome.table.totals[:, place, end] - outcome.table.totals[:, place, begin]
            mol = stay[Sum.LIGHT_MOST] + light[-1] - (light[end] - light[begin])
            fits = stay[Sum.BARRED] == 0 and stay[Sum.SUN_CLEAR] <= limits.sun_h and mol <= limits.light_mol
            assert not (fits and stay[Sum.HOURS] > 0.0), (outcome.date, place, begin, end)


def pairs(times):
    """All pairs of ascending times."""
    return [(begin, end) for begin in times for end in times if end > begin]


def test_no_axis_falls_fast_or_to_nothing(case):
    """At most half a ramp-day a day inside, and never back to nothing."""
    days = rows(case[1])
    for before, after in pairwise(days):
        for axis in ("air", "sun", "cold"):
            was, now = getattr(before.state, axis), getattr(after.state, axis)
            assert now >= was - 0.5 - 1e-9
            assert now > 0.0 or was == 0.0


@settings(max_examples=25, deadline=None)
@given(
    air=st.floats(0.0, 12.0),
    lag=st.floats(-2.0, 8.0),
    light=st.floats(0.5, 60.0),
    crop=st.sampled_from(sorted(load_crops())),
)
def test_from_every_state_mild_clear_days_lead_to_hardened(air, lag, light, crop):
    """No state is a dead end."""
    state = hand_state(air=air, sun=min(12.0, max(0.0, air - lag)), light_mol=light)
    finish = plan(garden(crop, state=state), Weather(days=2).forecast()).finishes[0]
    assert finish.earliest is not None
    assert finish.earliest <= FIRST + timedelta(days=40)


@pytest.mark.parametrize("offset", [-1.0, 0.0, 1.0])
def test_a_colder_night_never_turns_outward(offset):
    """Lowering the dark hours of one night never turns its verdict outward."""
    order = {"out": 0, "cover": 1, "in": 2, "unknown": 3}
    base = Weather(low_c=10.5 + offset)
    warm = base.frame()
    cold = warm.copy()
    local = cold.index.tz_convert(PLACE.tz)
    dark = (local.hour >= 21) | (local.hour < 5)
    cold.loc[dark, "air_temperature_c"] -= 3.0
    of = garden(state=hand_state(air=11.0, sun=11.0, cold=1.0, light_mol=25.0))
    verdicts = [rows(plan(of, base.forecast(frame)))[0].night.verdict for frame in (warm, cold)]
    assert order[verdicts[1]] >= order[verdicts[0]]
