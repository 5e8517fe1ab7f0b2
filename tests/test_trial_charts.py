"""The chart on the wall, worked out by hand for a carer at home and one at work."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from hardenoff.tables import load_rules
from hardenoff.trial.charts import Corners, kept_in, left_out, row_outing, sun_hours

CORNERS = Corners(sunny=3, shady=1)
HOME = tuple(range(28, 84))
"""07:00 to 20:45."""
WORK = (26, 27, 28, 29, 30, *range(71, 84))
"""06:30 to 07:30, and from 17:45."""
ROWS = load_rules()["twelve_days"].rows


def stays(outing) -> list[tuple[int, float, float]]:
    """(place, from, until) in hours of the clock."""
    where = outing.where
    edges = [0, *(np.flatnonzero(np.diff(where)) + 1).tolist(), len(where)]
    pairs = pairwise(edges)
    return [(int(where[first]), first / 4.0, end / 4.0) for first, end in pairs if where[first] > 0]


def day(row, times, begins_at=0, night_out=False):
    """An outing on a day of 24 hours."""
    return row_outing(ROWS[row - 1], times, CORNERS, quarters=96, begins_at=begins_at, night_out=night_out)


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (1, [(1, 9.0, 11.5)]),
        (4, [(1, 9.0, 14.5)]),
        (6, [(3, 9.0, 11.0), (1, 11.0, 15.0)]),
        (9, [(3, 8.75, 12.25), (1, 12.25, 20.75)]),
    ],
)
def test_at_home(row, expected):
    """From nine, or earlier where the hours would not fit; sun first, then shade."""
    assert stays(day(row, HOME)) == expected


def test_at_home_all_day():
    """Fourteen hours are asked, 13.75 are there; then the night."""
    assert stays(day(11, HOME, night_out=True)) == [(3, 7.0, 13.0), (1, 13.0, 24.0)]


def test_after_a_night_outside():
    """It stands in the shade till nine, gets its sun, and goes back."""
    outing = day(12, HOME, begins_at=1, night_out=True)
    assert stays(outing) == [(1, 0.0, 9.0), (3, 9.0, 17.0), (1, 17.0, 24.0)]
    assert outing.moves == 2


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (1, [(1, 17.75, 20.25)]),
        (3, [(1, 17.75, 20.75)]),
        (6, [(3, 17.75, 19.75), (1, 19.75, 20.75)]),
        (8, [(1, 7.5, 17.75)]),
        (10, [(3, 6.75, 7.5), (1, 7.5, 20.75)]),
    ],
)
def test_at_work(row, expected):
    """The two times of the day that come nearest: an evening for the short rows, the working day for the long.

    Row 8 asks for ten hours with three of sun: the moves nearest to that are 07:30 and 17:45, and three hours are
    nearer to none than to ten. Row 10 asks for fourteen with four of sun: 06:45 to 20:45,
    and what there is of the morning comes nearest.
    """
    assert stays(day(row, WORK)) == expected


def test_moves_are_counted():
    """Out, over, in."""
    assert day(6, HOME).moves == 3
    assert day(1, HOME).moves == 2


def test_nobody_there():
    """The tray stays where it is."""
    assert stays(day(6, ())) == []
    assert stays(day(6, (), begins_at=1)) == [(1, 0.0, 24.0)]


def test_kept_in():
    """One that stayed out comes in at the first time there is."""
    assert stays(kept_in(HOME, quarters=96, begins_at=0)) == []
    assert stays(kept_in(HOME, quarters=96, begins_at=2)) == [(2, 0.0, 7.0)]


def test_straight_out():
    """One carry on the first day, none later."""
    first = left_out(HOME, CORNERS, quarters=96, begins_at=0)
    assert stays(first) == [(3, 7.0, 24.0)]
    assert first.moves == 1
    later = left_out(HOME, CORNERS, quarters=96, begins_at=3)
    assert stays(later) == [(3, 0.0, 24.0)]
    assert later.moves == 0


def test_sun_of_a_rule_in_shade_steps():
    """Half shade over four hours counts as two hours of sun; a rule without sun as none."""
    assert sun_hours(load_rules()["three_steps"].rows[0]) == 2.0
    assert sun_hours(load_rules()["half_hour_first"].rows[4]) == 0.0
