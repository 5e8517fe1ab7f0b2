"""Scores of odds against what happened. Worked example and properties as published; see each test."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from validation import compare, outside

from hardenoff.forecast.skill import brier, brier_skill, climatology_brier, reliability

WORKED = list(zip((0.1, 0.2, 0.8, 0.9, 0.5), (False, False, True, True, True), strict=True))
"""(0.01 + 0.04 + 0.04 + 0.01 + 0.25) / 5 by hand; three of five happened."""

pairs = st.lists(st.tuples(st.floats(0.0, 1.0), st.booleans()), min_size=1, max_size=60)


@outside(
    "definition of Brier 1950, worked by hand: .07, climatology .24, skill .708",
    "scores of odds (not used by a command yet)",
    within="0.0005",
    because="worked to three digits",
)
def test_worked_example() -> None:
    """Five odds, three of which came true."""
    compare(brier(WORKED), 0.07)
    compare(climatology_brier(WORKED), 0.24)
    compare(brier_skill(WORKED), 0.708)


def test_skill_needs_both_outcomes() -> None:
    """Where it never froze there is nothing to be better than."""
    assert brier_skill([(0.1, False), (0.3, False)]) is None


@pytest.mark.parametrize("bad", [[], [(1.2, True)], [(-0.1, True)], [(math.nan, True)]])
def test_no_score_of_nonsense(bad: list[tuple[float, bool]]) -> None:
    """No pairs, odds outside 0 to 1 and NaN are refused, not scored."""
    for score in (brier, climatology_brier, brier_skill, reliability):
        with pytest.raises(ValueError, match=r"pairs|odds"):
            score(bad)


@given(pairs)
def test_brier_is_a_mean_of_squares(given_pairs: list[tuple[float, bool]]) -> None:
    """Between 0 and 1; 0 for certainty that comes true, 1 for certainty that never does."""
    assert 0.0 <= brier(given_pairs) <= 1.0
    assert brier([(float(came), came) for _, came in given_pairs]) == 0.0
    assert brier([(1.0 - came, came) for _, came in given_pairs]) == 1.0


@given(pairs)
def test_honest_share_is_best_of_all_constants(given_pairs: list[tuple[float, bool]]) -> None:
    """The score is proper (Murphy and Epstein 1967): no constant odds beat the observed share."""
    best = climatology_brier(given_pairs)
    for tenth in range(11):
        assert brier([(tenth / 10, came) for _, came in given_pairs]) >= best - 1e-12


@given(pairs)
def test_bins_hold_every_case_once(given_pairs: list[tuple[float, bool]]) -> None:
    """No case is lost or counted twice, 0 and 1 included, and means stay inside their bin."""
    bins = reliability(given_pairs)
    assert sum(one.cases for one in bins) == len(given_pairs)
    assert all(one.least - 1e-12 <= one.mean_odds <= one.most + 1e-12 for one in bins)


def test_reliability_by_hand() -> None:
    """Twenty cases at 0.25, five of them came: observed share 0.25, enough to say so; nineteen are not."""
    (one,) = reliability([(0.25, number < 5) for number in range(20)])
    assert (one.least, one.most, one.cases, one.mean_odds, one.observed_share) == (0.2, 0.3, 20, 0.25, 0.25)
    assert one.enough
    (few,) = reliability([(0.25, True)] * 19)
    assert not few.enough
