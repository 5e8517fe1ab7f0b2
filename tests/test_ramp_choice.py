"""The day's choice against brute force: the same score, and never an outing that is not allowed."""

from dataclasses import replace
from itertools import combinations, pairwise, product

import numpy as np
import pytest
from test_ramp_laws import CLOTH, random_weather
from validation import compare, outside
from weather import FIRST, HOME, OPEN, PLACE, SHADED, SPOTS, WORK, Weather, garden, hand_state

from hardenoff.ramp import asking, choice
from hardenoff.ramp.choice import choose, choose_all
from hardenoff.ramp.credit import Marks, credit, excess, score
from hardenoff.ramp.question import Question
from hardenoff.ramp.table import INSIDE_AT, Sum
from hardenoff.schedule.plans import plan_all


def questions(monkeypatch, of, forecast):
    """Every question that a plan asks."""
    asked = []

    def listening(several):
        asked.extend(several)
        return choose_all(several)

    monkeypatch.setattr(asking, "choose_all", listening)
    plan_all(of, forecast, FIRST)
    return asked


def totals_by_walking(question, places, times):
    """Totals of one route, stay by stay, from the running totals alone."""
    table = question.table
    edges = (0, *times, table.quarters)
    stays = list(zip(places, edges, edges[1:], strict=False))
    result = np.zeros(len(Sum))
    for place, begin, end in stays:
        result += table.totals[:, place, end] - table.totals[:, place, begin]
    result[Sum.BARRED] = sum(
        barred(question, place, begin, end, first=number == 0, last=number == len(stays) - 1)
        for number, (place, begin, end) in enumerate(stays)
    )
    return result


def barred(question, place, begin, end, first, last):
    """Barred quarter hours of one stay; mornings after and evenings before a night out are the night's."""
    table = question.table
    if place == INSIDE_AT:
        return 0.0
    count = 0.0
    for quarter in range(begin, end):
        row = table.totals[Sum.BARRED, place]
        if last and quarter >= table.dusk:
            row = table.barred_overnight[place]
        elif first and question.start_at != INSIDE_AT:
            if quarter < (question.times[0] if question.times else table.quarters):
                continue
            row = table.barred_carried[place]
        count += row[quarter + 1] - row[quarter]
    return count


def brute_force(question: Question):
    """Best score over all routes and all times, one by one."""
    best = None
    ends = (INSIDE_AT, *question.night_places)
    everywhere, marks = range(len(question.table.names)), Marks.of([question.asked])
    for moves in range(question.moves_most + 1):
        for middle, end in product(product(everywhere, repeat=max(moves - 1, 0)), ends if moves else (None,)):
            places = (question.start_at, *middle, end) if moves else (question.start_at,)
            if any(a == b for a, b in pairwise(places)) or places[-1] not in ends:
                continue
            for times in combinations(question.times, moves):
                totals = totals_by_walking(question, places, times)
                if totals[Sum.HOURS] <= 0.0 or excess(totals, marks) > 1e-9:
                    continue
                worth = float(score(totals, marks, moves, np.asarray(places[-1] != INSIDE_AT)))
                worth -= 0.3 * sum(max(0.0, 1.0 - (after - before) / 4) for before, after in pairwise(times))
                best = worth if best is None else max(best, worth)
    return best


@pytest.mark.parametrize("seed", range(6))
@outside(
    "every route at all times, one by one, walked stay by stay",
    "score of the day that is chosen, with a dozen times to carry",
    within="0.000000001",
    because="rounding of sums; a score is about 2",
    kind="anew",
)
def test_the_choice_equals_brute_force_on_small_days(monkeypatch, seed):
    """With a dozen times to move at, no outing is worth more than the chosen one."""
    random = np.random.default_rng(seed)
    state = hand_state(air=random.uniform(0, 12), sun=random.uniform(0, 12), light_mol=random.uniform(8, 30))
    of = garden(spots=(SHADED, OPEN), state=state, carer={"moves_per_day": 3})
    for question in questions(monkeypatch, of, random_weather(random, PLACE))[:5]:
        small = replace(question, times=question.times[::6])
        best, chosen = brute_force(small), choose(small)
        assert (chosen is None) == (best is None)
        if best is not None:
            compare(chosen.score, best)


@pytest.mark.parametrize("week", [HOME, WORK], ids=["home", "work"])
@outside(
    "the same days searched in full over half hours",
    "what the search on a coarse grid that is then refined loses of a score of about 2",
    within="at most 0.006",
    because="a third of a move (ours)",
    kind="anew",
)
def test_coarse_and_refined_loses_next_to_nothing(monkeypatch, week):
    """Against the search in full over half-hours: at most 0.006 of a score that is about 2 (ours)."""
    of = garden(week=week, spots=(*SPOTS, CLOTH), state=hand_state(air=6.0, sun=5.0, light_mol=18.0))
    asked = questions(monkeypatch, of, random_weather(np.random.default_rng(3), PLACE))[:4]
    for question in [replace(each, times=each.times[::2]) for each in asked]:
        quick = choose(question)
        monkeypatch.setattr(choice, "FULL_SEARCH_MOST", 10**9)
        full = choose(question)
        monkeypatch.undo()
        assert (quick is None) == (full is None)
        if quick is not None:
            compare(full.score - quick.score)


def test_a_chosen_route_adds_up(monkeypatch):
    """The totals of the chosen route are those of walking it stay by stay."""
    for question in questions(monkeypatch, garden(), Weather().forecast())[:14]:
        chosen = choose(question)
        walked = totals_by_walking(question, chosen.places, chosen.moves)
        assert chosen.totals == pytest.approx(walked, abs=1e-9)


def test_longer_than_the_rule_earns_three_quarters(monkeypatch):
    """Hours beyond the limit are the sheltered way."""
    question = questions(monkeypatch, garden(), Weather().forecast())[0]
    totals = np.zeros((len(Sum), 2))
    totals[Sum.HOURS] = [2.5, 9.0]
    earned = credit(totals, Marks.of([question.asked]))
    assert earned.air == pytest.approx([1.0, 0.75])
    assert list(earned.sheltered) == [False, True]
