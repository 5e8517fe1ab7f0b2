"""What the plants have got used to: credit, idle days, light that comes quickly and goes slowly."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from validation import compare, outside
from weather import garden

from hardenoff.ramp.indoors import indoor_day_mol
from hardenoff.ramp.limits import day_limits, light_cap_mol
from hardenoff.ramp.state import DayEarned, State, acclimate, after_day, assumed_day, first_state

OUT = DayEarned(air=1.0, sun=1.0, night_out=False, went_out=True, light_mol=20.0)
IN = DayEarned(air=0.0, sun=0.0, night_out=False, went_out=False, light_mol=11.5)
states = st.builds(
    State,
    air=st.floats(0, 12),
    sun=st.floats(0, 12),
    cold=st.floats(0, 6),
    light_mol=st.floats(0, 60),
)


def through(state, *days, end=12.0, hardy=False):
    """The state after these days."""
    for day in days:
        state = after_day(state, day, end=end, loses_cold=hardy)
    return state


def test_a_held_night_costs_nothing():
    """Outings by day with nights inside: air and sun grow by their credit."""
    state = through(State(), OUT, OUT)
    assert (state.air, state.sun, state.cold) == (2.0, 2.0, 0.0)


def test_the_first_day_inside_costs_itself_each_further_one_a_third():
    """Ours: 6.0 stays 6.0 after one day, 5.67 after two, 5.33 after three."""
    state = State(air=6.0, sun=6.0)
    airs = [through(state, *[IN] * days).air for days in (1, 2, 3)]
    assert airs == pytest.approx([6.0, 6.0 - 1 / 3, 6.0 - 2 / 3])


def test_a_spell_inside_costs_two_ramp_days_at_most():
    """Three weeks inside: 6.0 -> 4.0, whatever their number."""
    assert through(State(air=6.0, sun=6.0), *[IN] * 21).air == pytest.approx(4.0)


def test_an_outing_ends_the_spell():
    """A new spell begins with a free day."""
    state = through(State(air=6.0, sun=6.0), IN, IN, OUT, IN)
    assert state.air == pytest.approx(6.0 - 1 / 3 + 1.0)


@given(states, st.lists(st.sampled_from([IN, OUT]), max_size=30), st.booleans())
def test_nothing_goes_back_to_day_one(state, days, hardy):
    """No axis falls by more than half a ramp-day a day, below one if it stood above, or to nothing."""
    for day in days:
        after = after_day(state, day, end=12.0, loses_cold=hardy)
        for axis in ("air", "sun"):
            was, now = getattr(state, axis), getattr(after, axis)
            assert now >= was - 0.5
            assert now >= min(was, 1.0)
        assert after.cold >= min(state.cold, 0.5)
        state = after


@given(states)
def test_sun_is_never_more_than_two_ahead_by_credit(state):
    """A day's credit lifts sun to at most two above air, and never lowers it."""
    after = through(state, OUT)
    assert after.sun <= max(state.sun, after.air + 2.0)
    assert after.sun >= state.sun


def test_light_comes_in_three_days_and_goes_in_six():
    """First-order steps (ours): one day up makes 1 - exp(-1/3) of the gap, one day down 1 - exp(-1/6)."""
    assert acclimate(10.0, 40.0) == pytest.approx(10.0 + 30.0 * (1 - math.exp(-1 / 3)))
    assert acclimate(40.0, 10.0) == pytest.approx(40.0 - 30.0 * (1 - math.exp(-1 / 6)))


@pytest.mark.parametrize(
    ("start", "light", "days_each"), [(10.0, 45.0, 3.0), (40.0, 10.0, 6.0)], ids=["up", "down"]
)
@outside(
    "the first-order response, any text on control: end + (start - end) exp(-t / tau)",
    "the light that leaves are used to after one to twenty days of one light (tau = 3 days up, 6 down: ours)",
    within="0.0001 mol/m2",
    because="an identity",
)
def test_light_follows_a_first_order_response(start, light, days_each):
    """90 % of a step up after 2.3 time constants, on the seventh day."""
    used_to = start
    for day in range(1, 21):
        used_to = acclimate(used_to, light)
        compare(used_to, light + (start - light) * math.exp(-day / days_each))


def test_unknown_light_changes_nothing():
    """A day without radiation data leaves the leaves as they were."""
    dark = DayEarned(air=1.0, sun=0.0, night_out=False, went_out=True, light_mol=None)
    assert through(State(light_mol=14.0), dark).light_mol == 14.0


def test_a_hardy_crop_loses_cold_in_a_warm_room_a_tender_one_has_none_to_lose():
    """Cold tolerance goes in the warm (Ann. Bot. 78:365, 1996: lost after a day); ours: slowly."""
    state = State(air=6.0, sun=6.0, cold=3.0)
    assert through(state, IN, hardy=True).cold < 3.0
    assert through(state, IN, hardy=False).cold == 3.0


def test_an_assumed_day_earns_air_and_half_the_sun():
    """Neither told nor worked out (ours): air +1, sun +0.5, no night, light as it was."""
    state = assumed_day(State(air=2.0, sun=2.0, cold=1.0, light_mol=14.0), end=12.0)
    assert (state.air, state.sun, state.cold, state.light_mol) == (3.0, 2.5, 1.0, 14.0)
    assert state.confidence == "assumed"


@outside(
    "definition of the daily light integral: umol/m2/s x h x 0.0036",
    "the light that a batch from under a lamp is used to",
    within="0.001 mol/m2",
    because="printed to 0.01",
)
def test_the_lamp_sets_the_first_light():
    """200 umol/m2/s for 16 h are 11.52 mol/m2."""
    of = garden()
    compare(indoor_day_mol(of.batches[0], of), 11.52)
    compare(first_state(of.batches[0], of, 30.0).light_mol, 11.52)


@pytest.mark.parametrize(
    ("background", "air", "sun", "light"),
    [("lamp", 0, 0, 11.52), ("window", 0, 0, 5.0), ("greenhouse", 2, 2, 18.0), ("bought", 2, 0, 11.52)],
)
def test_where_they_come_from_sets_the_first_state(background, air, sun, light):
    """Ours: window 5 mol; greenhouse 0.6 of the open light, air 2, sun 2; bought air 2, sun 0."""
    of = garden(background=background)
    state = first_state(of.batches[0], of, 30.0)
    assert (state.air, state.sun, state.light_mol) == pytest.approx((air, sun, light))


def test_the_light_cap_is_the_designs():
    """C = (1 + r) A + d0: from 11.5 mol, 28 with r = 1, d0 = 5 and 20.3 with r = 0.5, d0 = 3."""
    assert light_cap_mol(11.52, 1.0, 5.0, 0.0) == pytest.approx(28.04)
    assert light_cap_mol(11.52, 0.5, 3.0, 0.0) == pytest.approx(20.28)


def test_limits_are_read_at_one_plus_the_whole_days_earned():
    """Air 4.9 reads the fifth row for hours; sun 6.2 reads the seventh for sun."""
    of = garden()
    state = State(air=4.9, sun=6.2, light_mol=15.0)
    limits = day_limits(of.batches[0], state, indoor_mol=11.52, sun_up_h=14.0, hardened=False)
    assert (limits.air_row, limits.sun_row) == (5, 7)
    assert (limits.outdoor_h, limits.sun_h, limits.gust_m_s) == (6.0, 2.5, 6.0)


def test_no_sun_in_the_rule_tolerates_a_quarter_hour():
    """Where the rule says none, 0.25 h is tolerated and never sought."""
    of = garden()
    limits = day_limits(of.batches[0], State(light_mol=11.5), indoor_mol=11.52, sun_up_h=14.0, hardened=False)
    assert limits.sun_h == 0.25
    assert limits.sun_target_h == 0.0


def test_a_blank_column_leaves_the_light_cap_to_decide():
    """The half-hour plan names no hours of sun: no limit of hours, and r, d0 of the tighter cap."""
    of = garden(rule="half_hour_first")
    limits = day_limits(of.batches[0], State(light_mol=11.52), indoor_mol=11.52, sun_up_h=14.0, hardened=False)
    assert limits.sun_h == math.inf
    assert limits.light_mol == pytest.approx(20.28)
    assert limits.gust_is_stand_in


def test_shade_steps_become_hours_of_sun():
    """Four hours under half the light are worth two hours of sun."""
    of = garden(rule="three_steps")
    limits = day_limits(of.batches[0], State(light_mol=11.52), indoor_mol=11.52, sun_up_h=14.0, hardened=False)
    assert limits.sun_h == pytest.approx(2.0)
