"""VALIDATION.md is what the marked tests say, and the marks do what they promise."""

from __future__ import annotations

import math
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from measures import Band, Near, measure
from validation import PAGE, results
from validation_words import NOT_CHECKED, there

TESTS = Path(__file__).parent


def test_the_page_is_what_the_tests_say() -> None:
    """Words, tolerances, number of cases; otherwise run `python tests/validation.py` and look at what changed."""
    done = subprocess.run(
        [sys.executable, "tests/validation.py", "--check"], cwd=TESTS.parent, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr + done.stdout


def test_no_result_on_the_page_is_missing() -> None:
    """Every row says what was found."""
    said = results(PAGE)
    assert len(said) > 80
    assert [name for name, found in said.items() if not found.strip("? ")] == []


@pytest.mark.parametrize("name", sorted({name for gap in NOT_CHECKED for name in gap.names}))
def test_what_is_not_checked_is_still_there(name: str) -> None:
    """A constant that moved or went leaves the closing list wrong."""
    assert there(name)


# --- the measures ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("within", "found", "expected"),
    [
        ("0.5 deg", 1.6, 1.0),
        ("0.5 deg", math.nan, 1.0),
        ("0.5 deg", np.array([1.0, math.nan]), np.array([1.0, 1.0])),
        ("3 %", 103.1, 100.0),
        ("3 %", 0.1, 0.0),
        ("30 s", timedelta(seconds=31), timedelta(0)),
        ("equal", 1.0, 1.1),
        ("equal", np.array([1, 2]), np.array([1, 3])),
        ("1 to 3 C", 3.1, None),
        ("1 to 3 C", math.nan, None),
        ("at least 2", 1.9, None),
        ("at most -1 C", 0.0, None),
    ],
)
def test_beyond_its_tolerance_a_check_fails(within: str, found: object, expected: object) -> None:
    """NaN is beyond every tolerance."""
    with pytest.raises(AssertionError):
        measure(within).take(found, expected)


@pytest.mark.parametrize(
    ("within", "off", "result"),
    [
        ("0.5 deg", 0.013, "at most 0.015 deg"),
        ("0.5 deg", 0.0195, "at most 0.025 deg"),  # 0.02 would leave too little room
        ("0.5 deg", 0.49, "at most 0.5 deg"),
        ("0.5 deg", 1e-15, "at most 0.005 deg"),  # rounding is not the same on two machines
        ("1", 0.09, "at most 0.1"),
    ],
)
def test_a_difference_is_rounded_up_with_headroom(within: str, off: float, result: str) -> None:
    """So that two machines write the same page."""
    near = measure(within)
    near.take(off, 0.0)
    assert near.result(near.seen) == result
    assert near.allowed(result)


def test_what_is_drawn_is_told_roughly() -> None:
    """Whether one of the cases was off by a minute or none: the page is the same."""
    assert {Near(0.15, "h").result([off], drawn=True) for off in (0.0, 1 / 60)} == {"at most 0.02 h"}


def test_more_than_the_page_says_is_told() -> None:
    """Within the tolerance, and still not what was promised."""
    near, band = Near(0.5, "deg"), Band(1.0, 3.0, "C")
    near.take(0.3, 0.0)
    band.take(np.array([1.5, 2.0]))
    assert not near.allowed("at most 0.2 deg")
    assert band.allowed("1.5 to 2 C")
    assert not band.allowed("1.7 to 2 C")
    assert not band.allowed("1.5 to 1.8 C")


@pytest.mark.parametrize(
    ("within", "values", "result"),
    [
        ("1 to 3 C", [1.12, 2.94], "1.1 to 3 C"),
        ("0 to 4 min", [1.0, 3.99], "1 to 4 min"),
        ("at least 0.95", [0.963, 1.2], "0.96 to 1.2"),
        ("1 to 3 C", [1.5], "1.5 C"),
        ("at least 0 C", [0.31, 2.9], "0.3 to 2.9 C"),
        ("at least 0 C", [0.0], "0 C"),
        ("at most 0.006", [-1e-16, 1e-16], "0"),
    ],
)
def test_a_band_tells_its_least_and_its_most(within: str, values: list[float], result: str) -> None:
    """Rounded outwards, never beyond the band."""
    band = measure(within)
    band.take(np.array(values))
    assert band.result(band.seen) == result
    assert band.allowed(result)


@pytest.mark.parametrize("within", ["", "a little", "deg"])
def test_a_tolerance_is_a_number_with_its_unit(within: str) -> None:
    """Or equal, or a band."""
    with pytest.raises(AssertionError, match="no tolerance"):
        measure(within)
