"""What air, sun and light count on a day: what is behind counts more, and what is done next to nothing."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_ramp_properties import EARLY_AND_LATE, planner_of
from weather import FIRST, OPEN, Weather, garden

from hardenoff.ramp.finish import light_done
from hardenoff.ramp.limits import light_cap_mol
from hardenoff.ramp.scene import GUST_AT_PLANT
from hardenoff.ramp.state import State, acclimate
from hardenoff.ramp.table import GUST_HOUR_COST, GUST_POWER, Sum
from hardenoff.ramp.weights import DONE_WORTH, LIGHT_GAIN, LIGHT_WORTH, DaysLeft, light_days, weights
from hardenoff.records import ShelterArc

DAYS = st.floats(0.0, 20.0)


@pytest.fixture(scope="module")
def batch():
    """Cabbage by the seven days."""
    return garden("cabbage").batches[0]


@given(DAYS, DAYS, DAYS)
def test_the_one_most_behind_counts_in_full(air, sun, light):
    """Whatever the others are; and nothing counts more than that."""
    found, longest = weights(DaysLeft(air, sun, light)), max(air, sun, light)
    for days, worth, most in ((air, found.air, 1.0), (sun, found.sun, 1.0), (light, found.light, LIGHT_WORTH)):
        assert worth <= most
        if days == longest and days > 0.0:
            assert worth == most


@given(DAYS, DAYS, DAYS, st.floats(0.0, 5.0))
def test_to_fall_behind_never_counts_less(air, sun, light, more):
    """More days left on one axis: it counts as much or more, and the others as much or less."""
    before, after = weights(DaysLeft(air, sun, light)), weights(DaysLeft(air, sun, light + more))
    assert after.light >= before.light
    assert after.air <= before.air
    assert after.sun <= before.sun


def test_what_is_done_counts_next_to_nothing():
    """Air and sun a fifth, light nothing."""
    found = weights(DaysLeft(0.0, 0.0, 0.0))
    assert (found.air, found.sun, found.light) == (DONE_WORTH, DONE_WORTH, 0.0)


@pytest.mark.parametrize("growth", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("used_to_mol", [2.0, 8.0, 15.0])
def test_days_of_light_are_those_of_so_many_usual_days(batch, growth, used_to_mol):
    """Day after day at the usual share of what the cap allows: done on the day the formula says, rounded up."""
    batch = replace(batch, rule=replace(batch.rule, light_growth=growth))
    told, light_mol, lived = light_days(batch, used_to_mol, 52.0), used_to_mol, 0
    while not light_done(batch, State(light_mol=light_mol), 52.0, 0.0):
        cap = light_cap_mol(light_mol, growth, batch.rule.light_step_mol, 0.0)
        light_mol = acclimate(light_mol, light_mol + LIGHT_GAIN * (cap - light_mol))
        lived += 1
    assert lived - 1 < told <= lived + 1e-9


def test_light_that_is_there_needs_no_day(batch):
    """Leaves used to more than a clear day asks for."""
    assert DaysLeft.of(batch, State(light_mol=30.0), 52.0, 10.0).light == 0.0
    assert light_days(batch, 30.0, 52.0) == 0.0


def test_who_carries_early_and_late_gets_their_leaves_used_to_light():
    """Whole days in deep shade earn air, but wean the leaves from light: under the lamp, with the sun early and
    late, they get there within a fortnight."""
    of = garden("cabbage", week=EARLY_AND_LATE, start=FIRST)
    planner = planner_of(of, Weather(days=14).forecast(), 40)
    days = planner.plan(of.batches, FIRST + timedelta(days=30))["seedlings"]
    on = planner.hardened_on(of.batches[0], days)
    assert on is not None
    assert on - FIRST < timedelta(days=14)
    until = [day for day in days if day.date <= on]
    assert min(day.state.light_mol for day in until) > 0.6 * until[0].state.light_mol


def test_gusts_near_the_limit_cost_and_the_lee_is_taken():
    """Each hour costs by the fourth power of gust over limit; of two beds in equal sun the calm one is taken."""
    lee = replace(OPEN, name="lee", shelter=(ShelterArc(0.0, 360.0, 0.8),))
    for spots in ((lee, OPEN), (OPEN, lee)):
        of = garden(spots=spots, start=FIRST)
        weather = Weather(days=4, low_c=18.0, high_c=24.0, gust_m_s=5.0)
        day = planner_of(of, weather.forecast(), 4).plan(of.batches, FIRST)["seedlings"][0]
        for place, spot in enumerate(spots, start=1):
            share = GUST_AT_PLANT * (0.8 if spot is lee else 1.0)
            hourly = GUST_HOUR_COST * (5.0 * share / day.limits.gust_m_s) ** GUST_POWER
            assert day.table.totals[Sum.STRAIN, place, -1] == pytest.approx(24.0 * hourly)
        assert {day.table.names[place] for place in day.route.places} == {"inside", "lee"}
