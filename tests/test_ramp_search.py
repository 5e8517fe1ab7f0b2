"""The array core of the planner: many questions at once, and what may make no difference to any of them.

Gardens, weather and days are random and numbered, and invented; the number makes a case again.
"""

from dataclasses import fields, is_dataclass, replace
from datetime import date, timedelta
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_ramp_choice import brute_force, totals_by_walking
from test_ramp_laws import CLOTH, CROPS, HEDGE, RULES, STEEP, random_weather
from weather import FIRST, HOME, MORNING, OPEN, PLACE, SHADED, WORK, Weather, garden, hand_state

from hardenoff.ramp import asking, choice, plan, search
from hardenoff.ramp.asking import answered, together
from hardenoff.ramp.capacity import DayBook
from hardenoff.ramp.choice import choose, choose_all
from hardenoff.ramp.credit import (
    MOVE_COST,
    Asked,
    Marks,
    ceiling,
    credit,
    excess,
    fullness,
    hop_cost,
    marks_of,
    score,
    tie_break,
)
from hardenoff.ramp.heard import Heard
from hardenoff.ramp.limits import NO_SUN_TOLERATED_H, DayLimits
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.question import Lanes, Question, route_totals
from hardenoff.ramp.scene import build_ground, build_scene, with_weather
from hardenoff.ramp.table import INSIDE_AT, DayTable, Sum
from hardenoff.ramp.watch import NightWatch
from hardenoff.ramp.weights import Weights
from hardenoff.records import Span
from hardenoff.sun.light import with_radiation

TWIN = replace(OPEN, name="second bed")
"""Nothing tells it from the open bed."""
PLACES_TO_STAND = (SHADED, MORNING, OPEN, CLOTH, HEDGE, STEEP, TWIN)
BEGINS = (FIRST, date(2027, 3, 13), date(2027, 11, 6))
"""The second day of the latter two has 92 and 100 quarter hours."""
HALF_HOURS = ((Span(7 * 60, 7 * 60 + 45), Span(12 * 60, 12 * 60 + 30), Span(18 * 60, 18 * 60 + 45)),) * 7
WEEKS = (HOME, WORK, HALF_HOURS, ((Span(420, 1260),), (Span(480, 660), Span(1050, 1230))) * 3 + ((),))
CASES = 18


# --- questions ---------------------------------------------------------------------------------------


def weather_from(random, first):
    """Random weather that begins on another date, with the radiation worked out."""
    forecast = random_weather(random, PLACE)
    hours = forecast.hours.set_index(forecast.hours.index + (first - FIRST))
    hours["air_temperature_c"] += 4.0  # nights outside among them
    return with_radiation(replace(forecast, hours=hours.rename_axis("time")), PLACE)


def random_garden(random, first, batches=3, **carer):
    """Up to five spots, and batches of several crops and rules somewhere along the ramp."""
    picked = random.choice(len(PLACES_TO_STAND), size=random.integers(1, 6), replace=False)
    spots = tuple(PLACES_TO_STAND[index] for index in sorted(picked))
    carer = {"moves_per_day": int(random.integers(1, 5)), **carer}
    made = []
    for number in range(batches):
        level = random.uniform(0.0, 12.0)
        state = hand_state(
            on=first,
            air=level,
            sun=max(0.0, level - random.uniform(0.0, 3.0)),
            cold=float(random.integers(0, 3)),
            light_mol=random.uniform(8.0, 45.0),
        )
        of = garden(
            CROPS[random.integers(len(CROPS))],
            week=WEEKS[random.integers(len(WEEKS))],
            spots=spots,
            carer=carer,
            rule=RULES[random.integers(len(RULES))],
            state=state,
            nights=bool(random.random() < 0.8),
            trays=int(random.integers(1, 5)),
            way="longer" if random.random() < 0.2 else "sheltered",
        )
        made.append(replace(of.batches[0], name=f"batch {number}"))
    return replace(of, batches=tuple(made))


def planner_of(of, forecast, first, days):
    """A planner from a date on."""
    scene = build_scene(of, forecast, first, first + timedelta(days=days), first)
    return Planner(garden=of, scene=scene, watch=NightWatch(scene, of.risk, first), today=first)


def asked_in(planner, days):
    """Every question of a plan of so many days."""
    asked = []

    def listening(questions):
        asked.extend(questions)
        return choose_all(questions)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(asking, "choose_all", listening)
        planner.plan(planner.garden.batches, planner.scene.dates[days - 1])
    return asked


@cache
def pool():
    """Questions of many gardens and days, each with the number of its case."""
    found = []
    for seed in range(CASES):
        random = np.random.default_rng(seed)
        first = BEGINS[seed % 3]
        of = random_garden(random, first)
        planner = planner_of(of, weather_from(random, first), first, 4)
        found += [(seed, question) for question in dict.fromkeys(asked_in(planner, 3))]
    return found


def questions():
    """The questions of the pool."""
    return [question for _, question in pool()]


def exactly(route):
    """All of a route, to the last bit."""
    return None if route is None else (route.places, route.moves, route.score, route.totals.tobytes())


def shown(routes):
    """All of some routes."""
    return [exactly(route) for route in routes]


def thinned(question, most):
    """The same with at most so many times, evenly out of its own."""
    if len(question.times) <= most:
        return question
    kept = np.rint(np.linspace(0, len(question.times) - 1, most)).astype(int)
    return replace(question, times=tuple(question.times[index] for index in kept))


@pytest.fixture
def quick(monkeypatch):
    """No day is small enough to be searched in full."""
    monkeypatch.setattr(choice, "FULL_SEARCH_MOST", 0)


def in_full(question):
    """The best route of the search in full."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choice, "FULL_SEARCH_MOST", 10**12)
        return choose(question)


def test_the_pool_has_what_the_tests_speak_of():
    """Short, usual and long days, several numbers of places, days that begin outside, nights, none at all."""
    asked = questions()
    assert {question.table.quarters for question in asked} == {92, 96, 100}
    assert len({question.shape for question in asked}) >= 8
    assert sum(question.start_at != INSIDE_AT for question in asked) >= 10
    assert sum(bool(question.night_places) for question in asked) >= 20
    assert sum(choice._ways(question) > choice.FULL_SEARCH_MOST for question in asked) >= 60
    answers = choose_all(asked)
    assert sum(route is None for route in answers) >= 10
    assert {len(route.moves) for route in answers if route is not None} >= {0, 1, 2, 3, 4}


# --- side by side ------------------------------------------------------------------------------------


def test_what_stands_beside_a_question_makes_no_difference():
    """All questions in one call, of many shapes, get to the last bit the answers of one call each."""
    asked = questions()
    assert shown(choose_all(asked)) == shown([choose(question) for question in asked])


@pytest.mark.parametrize("seed", [0, 3, 16, 33])
def test_nor_does_the_order_nor_the_number_of_times_of_another(quick, seed):
    """Shuffled, and with one to fifteen times or all of them: a short list has the same coarse times beside a long
    one."""
    random = np.random.default_rng(seed)
    asked = [
        thinned(question, int(random.integers(1, 16))) if random.random() < 0.7 else question
        for question in questions()
    ]
    random.shuffle(asked)
    asked = asked[:60]
    assert shown(choose_all(asked)) == shown([choose(question) for question in asked])


@pytest.mark.parametrize("at_once", [1, 2, 7])
def test_nor_does_how_many_are_searched_at_once(monkeypatch, at_once):
    """Questions are searched in portions; their size decides nothing."""
    asked = questions()[:80]
    whole = shown(choose_all(asked))
    monkeypatch.setattr(choice, "AT_ONCE", at_once)
    assert shown(choose_all(asked)) == whole


def test_nothing_asked_is_nothing_answered():
    """An empty round."""
    assert choose_all([]) == []


# --- what is chosen ----------------------------------------------------------------------------------


def breaks(asked, totals):
    """The limits and gates that totals break, from the limits themselves."""
    limits, slack = asked.limits, 1e-6
    hours, sun = totals[Sum.HOURS], totals[Sum.SUN_CLEAR]
    return [
        name
        for name, broken in {
            "barred": totals[Sum.BARRED] > slack,
            "sun": sun > limits.sun_h + slack,
            "sun beyond the hours": not limits.sun_hours_told
            and hours > limits.outdoor_h + slack
            and sun > NO_SUN_TOLERATED_H + slack,
            "light": totals[Sum.LIGHT_MOST] > limits.light_mol + slack,
            "longer": asked.longer_only and hours > limits.outdoor_h + slack,
            "never out": hours <= 0.0,
        }.items()
        if broken
    ]


@pytest.mark.parametrize("full", [0, choice.FULL_SEARCH_MOST], ids=["quick", "as it is"])
def test_every_chosen_route_is_one_that_can_be_walked(monkeypatch, full):
    """It starts where the day begins, ends inside or at a place for the night, and moves at given times only."""
    monkeypatch.setattr(choice, "FULL_SEARCH_MOST", full)
    for question, route in zip(questions(), choose_all(questions()), strict=True):
        if route is None:
            continue
        assert route.places[0] == question.start_at
        assert route.places[-1] == INSIDE_AT or route.places[-1] in question.night_places
        assert len(route.places) == len(route.moves) + 1
        assert all(one != other for one, other in pairwise(route.places))
        assert set(route.moves) <= set(question.times)
        assert all(one < other for one, other in pairwise(route.moves))
        assert len(route.moves) <= question.moves_most


@pytest.mark.parametrize("full", [0, choice.FULL_SEARCH_MOST], ids=["quick", "as it is"])
def test_every_chosen_route_keeps_limits_and_gates(monkeypatch, full):
    """Walked stay by stay, it breaks nothing."""
    monkeypatch.setattr(choice, "FULL_SEARCH_MOST", full)
    for question, route in zip(questions(), choose_all(questions()), strict=True):
        if route is not None:
            assert breaks(question.asked, totals_by_walking(question, route.places, route.moves)) == []


@pytest.mark.parametrize("full", [0, choice.FULL_SEARCH_MOST], ids=["quick", "as it is"])
def test_a_chosen_route_is_worth_what_its_totals_are(monkeypatch, full):
    """Score and totals of the answer are those of its places and times."""
    monkeypatch.setattr(choice, "FULL_SEARCH_MOST", full)
    for question, route in zip(questions(), choose_all(questions()), strict=True):
        if route is None:
            continue
        walked = totals_by_walking(question, route.places, route.moves)
        assert route.totals == pytest.approx(walked, abs=1e-9)
        worth = score(walked, marks_of(question.asked), len(route.moves), np.asarray(route.night_out))
        assert route.score == pytest.approx(float(worth - hop_cost(np.diff(route.moves))), abs=1e-9)


def random_route(question, random, moves):
    """Any way to move so often, allowed or not."""
    count = len(question.table.names)
    places = [question.start_at]
    for _ in range(moves):
        places.append(int(random.choice([place for place in range(count) if place != places[-1]])))
    times = sorted(random.choice(question.times, size=moves, replace=False).tolist())
    return tuple(places), tuple(times)


def with_gates(question, random):
    """The same day with gates that shut now and then, otherwise by day, by night and for what the night left."""
    table, count = question.table, len(question.table.names)
    shut = random.random((3, count, table.quarters)) < 0.1
    shut[:, INSIDE_AT] = False
    by_day, overnight, carried = np.zeros((3, count, table.quarters + 1))
    for row, mask in ((by_day, shut[0]), (overnight, np.where(np.arange(table.quarters) < table.dusk, *shut[:2]))):
        row[:, 1:] = mask.cumsum(axis=1)
    carried[:, 1:] = shut[2].cumsum(axis=1)
    totals = table.totals.copy()
    totals[Sum.BARRED] = by_day
    table = replace(table, totals=totals, barred_overnight=overnight, barred_carried=carried)
    return replace(question, table=table, start_at=int(random.integers(0, count)))


@pytest.mark.parametrize("moves", range(5))
def test_totals_of_any_route_are_those_of_walking_it(moves):
    """By one route, and by many laid side by side; from any place, with any gates shut."""
    random = np.random.default_rng(moves)
    for question in (with_gates(each, random) for each in questions()[::3]):
        if len(question.times) < moves:
            continue
        places, times = random_route(question, random, moves)
        by_hand = totals_by_walking(question, places, times)
        assert route_totals(question, places, times) == pytest.approx(by_hand, abs=1e-9)
        if moves:
            lanes = Lanes.of([question])
            laid = lanes.totals(np.array([[places]]), np.array([[times]]))[:, 0, 0]
            assert laid == pytest.approx(by_hand, abs=1e-9)


# --- how good it is ----------------------------------------------------------------------------------


def losses(most_times, most_ways):
    """What the quick search loses of a score, on the questions of the pool with fewer times."""
    found = []
    for question in (thinned(each, most_times) for each in questions()):
        if len(question.times) < 2 or not choice.FULL_SEARCH_MOST < choice._ways(question) < most_ways:
            continue
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(choice, "FULL_SEARCH_MOST", 0)
            fast = choose(question)
        best = in_full(question)
        assert (fast is None) == (best is None)
        if best is not None:
            found.append(best.score - fast.score)
    return np.array(found)


def test_the_quick_search_loses_little_of_a_score_of_about_two():
    """On days of middling size against every route at every time: 0.002 on average at most, 0.03 at worst (ours:
    a tenth of a move, and a move and a half)."""
    lost = losses(14, 300_000)
    assert len(lost) >= 40
    assert lost.min() >= -1e-6
    assert lost.mean() <= 0.002
    assert lost.max() <= 0.03


STAGES = ("_one_move", "_two_moves", "_split", "_inserted", "_exact")


@pytest.fixture(scope="module")
def stages():
    """What each stage of the search finds on the questions of the pool: (stage, lanes, its arguments, found)."""
    seen = []

    def listening(name, stage):
        def listens(lanes, *given):
            found = stage(lanes, *given)
            seen.append((name, lanes, given, found))
            return found

        return listens

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choice, "FULL_SEARCH_MOST", 0)
        for name in STAGES:
            patch.setattr(search, name, listening(name, getattr(search, name)))
        choose_all(questions())
    assert {name for name, *_ in seen} == set(STAGES)
    return seen


def walked(lanes, routes):
    """Score and excess of routes, from where they stand and when they move."""
    lane = np.arange(len(routes.score))[:, None, None]
    moves = lanes.times[lane, routes.index]
    totals, marks = lanes.totals(routes.places, moves), lanes.marks.shaped(2)
    worth = score(totals, marks, moves.shape[2], routes.places[:, :, -1] != INSIDE_AT)
    return worth - hop_cost(np.diff(moves, axis=2)), excess(totals, marks)


@pytest.mark.parametrize("name", STAGES)
def test_every_stage_reckons_a_route_as_it_is_walked(stages, name):
    """Score and excess that a stage corrects from those of a shorter route are those of the route itself."""
    for lanes, found in ((lanes, found) for stage, lanes, _, found in stages if stage == name):
        for routes in (found.near, found.fits):
            there, (worth, over) = np.isfinite(routes.score), walked(lanes, routes)
            assert routes.score[there] == pytest.approx(worth[there], abs=1e-9)
            assert routes.excess[there] == pytest.approx(over[there], abs=1e-9)


@pytest.mark.parametrize("name", STAGES)
def test_every_stage_finds_routes_that_can_be_walked(stages, name):
    """From where the day begins, at ascending times, each move elsewhere, to where the night may be spent."""
    for lanes, found in ((lanes, found) for stage, lanes, _, found in stages if stage == name):
        for routes in (found.near, found.fits):
            there, lane = np.isfinite(routes.score), np.arange(len(routes.score))[:, None]
            places, index = routes.places[there], routes.index[there]
            assert (np.diff(places, axis=1) != 0).all()
            assert (np.diff(index, axis=1) > 0).all()
            assert (index >= 0).all()
            assert (routes.index.max(axis=2) < lanes.had[:, None])[there].all()
            assert (routes.places[:, :, 0] == lanes.start[:, None])[there].all()
            assert lanes.ends[lane, routes.places[:, :, -1]][there].all()


def test_exact_times_never_lose_what_fits_already(stages):
    """Of every route the best times that fit are at least as good as those it came with."""
    for lanes, routes, found in (
        (lanes, came[0], found) for name, lanes, came, found in stages if name == "_exact"
    ):
        there, (worth, over) = np.isfinite(routes.score), walked(lanes, routes)
        fits = found.fits.score - search.MISS * found.fits.excess
        assert (fits[there] >= (worth - search.MISS * over)[there] - 1e-9).all()


def test_of_equals_the_quick_search_takes_the_gentler(quick):
    """Two spots with the same sun in the same time, one of them windy: the calm one, wherever it stands."""
    for calm in (1, 2):
        question = two_spots(forenoon=0, gusty=3 - calm)
        assert set(choose(question).places) == {INSIDE_AT, calm}


def test_what_is_not_looked_at_could_not_have_won(quick, monkeypatch):
    """More moves are tried only where they can be worth it: to try them always finds nothing better."""
    asked = questions()
    routes = choose_all(asked)

    def always(lanes, score_so_far, moves):
        return np.flatnonzero((lanes.most >= moves) & (lanes.had >= moves))

    monkeypatch.setattr(search, "_could_gain", always)
    for route, other in zip(routes, choose_all(asked), strict=True):
        assert (route is None) == (other is None)
        assert route is None or other.score <= route.score + 10.0 * search.GENTLE + 1e-6


@pytest.fixture(scope="module")
def small():
    """Small days, and the best score there is by brute force."""
    thin = [thinned(each, 5 + number % 2) for number, each in enumerate(questions()[::2]) if each.times]
    return [(each, brute_force(each)) for each in thin if choice._ways(each) < 1_500]


def test_the_upper_bound_is_never_below_the_best_there_is(small):
    """`search` gives up on more moves by it: brute force over all routes and times finds nothing above."""
    assert len(small) > 40
    for question, best in small:
        if best is not None:
            assert search._most_worth(search.gentle_lanes([question]))[0] >= best - 1e-9


def test_the_best_of_a_small_day_is_chosen(small):
    """By the search in full, also on days that begin outside, and where nothing is moved."""
    begun = 0
    for question, best in small:
        route = choose(question)
        assert (route is None) == (best is None)
        if route is not None:
            assert route.score == pytest.approx(best, abs=1e-6)
            begun += question.start_at != INSIDE_AT
    assert begun >= 5


def test_a_place_that_is_none_for_the_night_is_left_by_then():
    """What stands outside at 00:00 stays there all day only where it may stay the night too; else, with nobody
    there, there is no answer."""
    begun = [replace(each, times=()) for each in questions() if each.start_at != INSIDE_AT]
    stays = [choose(replace(each, night_places=(each.start_at,))) for each in begun]
    assert any(route is not None and route.moves == () for route in stays)
    assert all(choose(replace(each, night_places=())) is None for each in begun)


def test_nor_below_the_worth_of_any_route_of_so_many_moves():
    """Less the moves' cost, also of the best of the days as they are."""
    for question, route in zip(questions(), choose_all(questions()), strict=True):
        if route is not None:
            most = search._most_worth(search.gentle_lanes([question]))[0] - MOVE_COST * len(route.moves)
            assert most >= route.score - 1e-9


def two_spots(forenoon, gusty):
    """A day at two spots, in sun at both, or at number `forenoon` until 13:00 and at the other one after."""
    steps = np.zeros((len(Sum), 3, 96))
    steps[Sum.DARK_HOURS, 1:] = 0.25
    steps[Sum.DARK_HOURS, 1:, 28:76], steps[Sum.HOURS, 1:, 28:76] = 0.0, 0.25
    steps[Sum.STRAIN, 1:], steps[Sum.STRAIN, gusty] = 1e-5, 1e-4
    for place in (1, 2):
        at = slice(28, 76) if not forenoon else slice(28, 52) if place == forenoon else slice(52, 76)
        steps[[Sum.SUN_LIKELY, Sum.SUN_CLEAR], place, at] = 0.25
        steps[[Sum.LIGHT_LIKELY, Sum.LIGHT_OUT, Sum.LIGHT_MOST], place, at] = 0.5
    totals = np.zeros((len(Sum), 3, 97))
    totals[:, :, 1:] = steps.cumsum(axis=2)
    none = np.zeros((3, 97))
    table = DayTable(("inside", "east", "west"), totals, none, none, 96, 76)
    asked = questions()[0].asked
    limits = replace(asked.limits, outdoor_h=24.0, sun_h=12.0, sun_target_h=12.0, light_mol=60.0)
    asked = replace(asked, limits=limits, hours=12.0, light_mol=50.0, weights=Weights(sun=1.0), longer_only=False)
    return Question(table, asked, INSIDE_AT, tuple(range(24, 80, 2)), 3, ())


def test_what_stands_well_is_moved_where_that_is_worth_two_moves(quick):
    """Outside since the night, with nearly all to be had where it stands: the afternoon's sun is taken too."""
    question = two_spots(forenoon=1, gusty=1)
    asked = replace(question.asked, limits=replace(question.asked.limits, sun_target_h=10.5))
    question = replace(question, asked=asked, start_at=1, night_places=(1, 2))
    stays = choose(replace(question, times=()))
    most = float(ceiling(marks_of(question.asked), 1, np.asarray(True)))
    assert most - 0.3 < stays.score < choose(question).score
    assert choose(question).places[:2] == (1, 2)


def test_the_bound_counts_the_best_spot_of_every_hour(quick):
    """Sun in the forenoon at one spot, in the afternoon at another: more than either has is to be had."""
    question = two_spots(forenoon=1, gusty=1)
    route = choose(question)
    assert (route.places, route.moves) == ((0, 1, 2, 0), (28, 52, 76))
    assert search._most_worth(search.gentle_lanes([question]))[0] >= route.score + 3 * MOVE_COST - 1e-9


@pytest.mark.parametrize("alike", [2, 3])
def test_spots_that_nothing_tells_apart_make_no_difference(quick, alike):
    """Equals among the routes: the same of them is taken, whatever the days searched beside it let stay out."""
    twins = tuple(replace(OPEN, name=f"bed {number}") for number in range(alike))
    state = hand_state(air=9.0, sun=7.0, cold=1.0, light_mol=20.0)
    asked = []
    for of in (garden(spots=(SHADED, *twins), state=state, nights=nights) for nights in (False, True)):
        asked += asked_in(planner_of(of, with_radiation(Weather(days=4).forecast(), PLACE), FIRST, 4), 3)
    asked += [replace(each, night_places=places) for each in asked for places in ((), (1,), (2, 3))]
    assert shown(choose_all(asked)) == shown([choose(question) for question in asked])


def test_no_number_of_spots_makes_two_orders_one():
    """Routes are compared by their order of places, whatever the numbers of the places."""
    places = np.array([[[0, 64, 0], [0, 0, 1], [0, 64, 0], [0, 2, 0]]])
    assert search._outdone(places, np.array([[1.0, 2.0, 3.0, 3.0]])).tolist() == [[True, False, False, False]]


# --- marks of many lanes -----------------------------------------------------------------------------


@st.composite
def targets(draw):
    """The targets of any day."""
    sun_h = draw(st.sampled_from([np.inf, 0.25, 2.0, 6.5]))
    target = draw(st.sampled_from([None, 0.0, 0.4, 0.5, 2.0, 6.0]))
    limits = DayLimits(
        air_row=1,
        sun_row=1,
        outdoor_h=draw(st.sampled_from([0.5, 2.0, 9.0, 24.0])),
        sun_h=sun_h,
        light_mol=draw(st.floats(1.0, 60.0)),
        gust_m_s=draw(st.floats(2.0, 15.0)),
        least_air_c=10.0,
        nights_out=draw(st.booleans()),
        check_below_c=9.0,
        harm_below_c=2.0,
        sun_target_h=target,
        sun_hours_told=bool(np.isfinite(sun_h)) and draw(st.booleans()),
        near_end=draw(st.booleans()),
        lagging=draw(st.booleans()),
    )
    return Asked(
        limits=limits,
        hours=draw(st.sampled_from([0.0, 0.5, 2.0, 9.0])),
        light_mol=draw(st.floats(1.0, 60.0)),
        weights=Weights(*(draw(st.sampled_from([0.0, 0.2, 0.65, 1.0, 1.5])) for _ in range(3))),
        nights_needed=draw(st.booleans()),
        longer_only=draw(st.booleans()),
        used_to_mol=draw(st.floats(0.0, 40.0)),
        grace_h=draw(st.sampled_from([0.0, 0.5])),
    )


def random_totals(seed, *shape):
    """Totals of any outings, in the size of a day's, some quantities none at all."""
    random = np.random.default_rng(seed)
    size = np.array([9.0, 5.0, 5.0, 5.0, 45.0, 40.0, 0.06, 3.0, 45.0, 2000.0, 8.0, 4.0])
    totals = random.uniform(0.0, 1.0, (len(Sum), *shape)) * size.reshape(-1, *([1] * len(shape)))
    return totals * (random.random(totals.shape) < 0.8)


@settings(max_examples=60)
@given(st.lists(targets(), min_size=2, max_size=6), st.integers(1, 5), st.integers(0, 999), st.booleans())
def test_marks_side_by_side_are_those_of_each(several, axes, seed, night):
    """Every number that is reckoned of many lanes is, to the last bit, that of the lane's own targets."""
    marks = Marks.of(several).shaped(axes)
    totals, out = random_totals(seed, len(several), *([2, 3, 1, 2][: axes - 1])), np.asarray(night)
    earned = credit(totals, marks)
    for lane, asked in enumerate(several):
        own, here = marks_of(asked), totals[:, lane]
        alone = credit(here, own)
        assert np.array_equal(earned.air[lane], alone.air)
        assert np.array_equal(earned.sun[lane], alone.sun)
        assert np.array_equal(earned.sheltered[lane], alone.sheltered)
        assert np.array_equal(score(totals, marks, 3, out)[lane], score(here, own, 3, out))
        assert np.array_equal(excess(totals, marks)[lane], excess(here, own))
        assert np.array_equal(fullness(totals, marks)[lane], fullness(here, own))
        assert np.array_equal(tie_break(totals, marks)[lane], tie_break(here, own))
        assert float(ceiling(marks, 2, out)[lane].ravel()[0]) == float(ceiling(own, 2, out))


@given(st.lists(targets(), min_size=2, max_size=4), st.integers(1, 5))
def test_every_mark_of_a_lane_is_its_own(several, axes):
    """Name by name, in the shape that is asked for."""
    marks = Marks.of(several).shaped(axes)
    names = [each.name for each in fields(Marks) if each.name not in ("some", "alike", "rows")]
    for name in names:
        values = getattr(marks, name)
        assert values.shape == (len(several), *([1] * (axes - 1)))
        assert values.ravel().tolist() == [getattr(marks_of(asked), name) for asked in several]


@given(targets(), st.integers(0, 999), st.integers(0, 4), st.booleans())
def test_no_outing_is_worth_more_than_the_ceiling(asked, seed, moves, night):
    """Whatever is met, with or without a night out."""
    marks, totals = marks_of(asked), random_totals(seed, 50)
    most = float(ceiling(marks, moves, np.asarray(night)))
    assert (score(totals, marks, moves, np.asarray(night)) <= most + 1e-9).all()


@settings(max_examples=60)
@given(targets(), st.integers(0, 999))
def test_nothing_is_over_where_nothing_is_broken(asked, seed):
    """The excess is none exactly where every limit and gate is kept."""
    totals = random_totals(seed, 40)
    totals[Sum.BARRED] *= totals[Sum.BARRED] > 2.0
    totals[Sum.HOURS] += 0.1
    totals[Sum.SUN_CLEAR, ::3] *= 0.05
    over = excess(totals, marks_of(asked))
    for number in range(40):
        assert (over[number] <= 1e-7) == (breaks(asked, totals[:, number]) == [])


# --- plans in step -----------------------------------------------------------------------------------


def routes_of(plans):
    """All routes of some plans, by batch and date, to the last bit."""
    return {
        (name, day.date): exactly(day.route) if day.route is not None else day.stage
        for name, days in plans.items()
        for day in days
    }


@pytest.fixture(scope="module")
def planners():
    """Planners of different gardens, weather and dates."""
    made = []
    for seed in (3, 4, 5, 6):
        random = np.random.default_rng(seed)
        first = BEGINS[seed % 3]
        made.append(planner_of(random_garden(random, first), weather_from(random, first), first, 6))
    return made


def test_plans_in_step_are_the_plans_one_by_one(planners):
    """Of other gardens and of other lengths."""
    days = range(1, 1 + len(planners))
    askings = [
        planner.asking(planner.garden.batches, planner.scene.dates[until])
        for planner, until in zip(planners, days, strict=True)
    ]
    alone = [
        planner.plan(planner.garden.batches, planner.scene.dates[until])
        for planner, until in zip(planners, days, strict=True)
    ]
    assert [routes_of(plans) for plans in together(askings)] == [routes_of(plans) for plans in alone]


def test_answers_go_to_whoever_asked():
    """Several questions at a time, none, or nothing asked at all; the results keep their order."""
    asked = questions()

    def asks(*rounds):
        got = []
        for some in rounds:
            got += yield some
        return shown(got)

    rounds = ([asked[:3], asked[3:4]], [], [[], asked[5:9]], [asked[9:10], asked[10:12], asked[12:13]])
    wanted = [shown(choose_all([question for some in each for question in some])) for each in rounds]
    assert together([asks(*each) for each in rounds]) == wanted
    assert together([]) == []
    assert answered(asks(*rounds[0])) == wanted[0]


# --- answers that are kept ---------------------------------------------------------------------------


@settings(max_examples=120)
@given(st.data())
def test_an_answer_that_stands_is_the_one_that_would_be_given(data):
    """Of a day with some times, when others took some away: what the book answers is what is chosen anew."""
    number = data.draw(st.integers(0, len(pool()) - 1))
    question = thinned(questions()[number], 6)
    kept = data.draw(st.lists(st.booleans(), min_size=len(question.times), max_size=len(question.times)))
    fewer = replace(question, times=tuple(at for at, stays in zip(question.times, kept, strict=True) if stays))
    asked = data.draw(st.permutations([question, fewer]))
    route, book = in_full(asked[0]), DayBook()
    book.learn(asked[0], route)
    assert exactly(book.answer(asked[0])) == exactly(route)
    if book.knows(asked[1]):
        assert exactly(book.answer(asked[1])) == exactly(in_full(asked[1]))


@pytest.mark.parametrize("number", range(0, 60, 3))
def test_an_answer_stands_while_its_own_moves_are_left(number):
    """It is not asked anew for a time that it does not use; for one that it uses it is, as any other day is."""
    question = next(each for each in questions()[number:] if len(each.times) > 8 and each.start_at == INSIDE_AT)
    route, book = choose(question), DayBook()
    book.learn(question, route)
    used = () if route is None else route.moves
    spare = next(at for at in question.times if at not in used)
    assert book.knows(without(question, spare))
    assert all(not book.knows(without(question, at)) for at in used)
    assert not book.knows(replace(question, times=(*question.times, question.times[-1] + 1)))
    assert not book.knows(replace(question, moves_most=question.moves_most + 1))
    assert not book.knows(replace(question, night_places=(*question.night_places, 99)))


def without(question, at):
    """The question with one time less."""
    return replace(question, times=tuple(other for other in question.times if other != at))


def test_a_day_that_begins_outside_is_asked_anew_if_its_first_time_goes():
    """What bars the stay that the night left there is counted from the first time somebody is there."""
    begun = [each for each in questions() if each.start_at != INSIDE_AT and len(each.times) > 4]
    for question in begun:
        route, book = choose(question), DayBook()
        book.learn(question, route)
        assert not book.knows(replace(question, times=question.times[1:]))


# --- batches side by side ----------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_batches_that_take_nothing_from_each_other_are_planned_as_if_alone(seed):
    """With carries that take no time, and spots that hold any number of trays."""
    random = np.random.default_rng(seed)
    of = random_garden(random, FIRST, batches=4, minutes_per_trip=0.0)
    planner = planner_of(of, weather_from(random, FIRST), FIRST, 6)
    side_by_side = planner.plan(of.batches, planner.scene.dates[4])
    for batch in of.batches:
        alone = planner.plan((batch,), planner.scene.dates[4])
        assert routes_of(alone) == routes_of({batch.name: side_by_side[batch.name]})


@pytest.mark.parametrize("seed", range(4))
def test_to_ask_ahead_changes_no_plan(monkeypatch, seed):
    """Batches to come are asked for along with the present one only to save time: on days that are searched in
    full, a plan that asks one after the other is the same, though they share a carer's time and spots' room."""
    random = np.random.default_rng(seed)
    spots = (replace(SHADED, holds=6), replace(OPEN, holds=12))
    of = garden(week=HALF_HOURS, spots=spots, carer={"moves_per_day": 3}, trays=2)
    crops = [random_garden(random, FIRST, batches=12).batches[number] for number in range(12)]
    batches = tuple(replace(each, plant_out_at="open bed", trays=2) for each in crops)
    of = replace(of, batches=batches)
    planner = planner_of(of, weather_from(random, FIRST), FIRST, 6)
    ahead = routes_of(planner.plan(of.batches, planner.scene.dates[4]))
    monkeypatch.setattr(plan, "AHEAD", 0)
    monkeypatch.setattr(plan, "AHEAD_MOST", 0)
    assert routes_of(planner.plan(of.batches, planner.scene.dates[4])) == ahead


# --- scenes ------------------------------------------------------------------------------------------


def assert_alike(one, other, where=""):
    """Field by field, arrays to the last bit."""
    assert type(one) is type(other), where
    if isinstance(one, np.ndarray):
        assert np.array_equal(one, other, equal_nan=one.dtype.kind == "f"), where
    elif is_dataclass(one):
        for each in fields(one):
            assert_alike(getattr(one, each.name), getattr(other, each.name), f"{where}.{each.name}")
    elif isinstance(one, tuple):
        assert len(one) == len(other), where
        for number, (mine, yours) in enumerate(zip(one, other, strict=True)):
            assert_alike(mine, yours, f"{where}[{number}]")
    elif isinstance(one, dict):
        assert list(one) == list(other), where
        for key in one:
            assert_alike(one[key], other[key], f"{where}[{key}]")
    else:
        assert one == other or (one != one and other != other), where


@pytest.mark.parametrize("first", BEGINS, ids=str)
def test_a_scene_on_a_given_ground_is_the_scene_without(first):
    """The ground is what holds under any forecast, also on days when the clock is changed."""
    random = np.random.default_rng(7)
    of, forecast = garden(spots=(SHADED, CLOTH, HEDGE, OPEN)), weather_from(random, first)
    last = first + timedelta(days=9)
    ground = build_ground(of, first, last)
    without = build_scene(of, forecast, first, last, first)
    assert_alike(build_scene(of, forecast, first, last, first, ground=ground), without)
    assert_alike(
        build_scene(of, None, first, last, first, ground=ground), build_scene(of, None, first, last, first)
    )


@pytest.mark.parametrize("days", [0, 1, 4, 12], ids=lambda days: f"{days} days on")
@pytest.mark.parametrize("first", BEGINS, ids=str)
def test_other_weather_under_the_same_sky_is_a_scene_of_its_own(first, days):
    """Air, wind, rain and storms of another forecast of the same hours: as if built for it, whether the scene ends
    before the forecast or after it."""
    random = np.random.default_rng(8)
    of, forecast = garden(spots=(SHADED, MORNING, OPEN)), weather_from(random, first)
    hours = forecast.hours.copy()
    hours["air_temperature_c"] -= 3.0
    hours["wind_gust_m_s"] *= 1.5
    hours["wind_from_deg"] = 80.0
    hours["precipitation_mm"] = random.choice([0.0, 9.0], size=len(hours))
    hours["weather_code"] = random.choice([3.0, 95.0], size=len(hours))
    other = replace(forecast, hours=hours)
    last = first + timedelta(days=days)
    scene = build_scene(of, forecast, first, last, first, Heard())
    scene.outdoors[0] = np.zeros(1)
    assert_alike(with_weather(scene, other), build_scene(of, other, first, last, first, Heard()))
