"""What a value in another notation may have meant: the repair is made of what was given, or of no guess at all."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from hardenoff.errors import GardenError
from hardenoff.garden import garden_from_text
from hardenoff.garden.meant import bearing_meant, clock_meant, dates_meant, degrees_meant

GARDEN = """
[place]
latitude = 40.01
longitude = -83.02
timezone = "America/New_York"
[[spot]]
name = "porch"
{spot}
[[batch]]
name = "peppers"
crop = "sweet pepper"
{batch}
"""


def faults(spot: str = "", batch: str = "") -> tuple[str, ...]:
    """What is said of a garden with these lines."""
    with pytest.raises(GardenError) as told:
        garden_from_text(Path("garden.toml"), GARDEN.format(spot=spot, batch=batch))
    return tuple(str(fault) for fault in told.value.faults)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("5:30pm", "17:30"),
        ("5:30 P.M.", "17:30"),
        ("5 pm", "17:00"),
        ("12am", "00:00"),
        ("12:15 pm", "12:15"),
        ("7.40", "07:40"),
        ("7h40", "07:40"),
        ("0740", "07:40"),
        ("13 pm", None),
        ("25.10", None),
        ("noon", None),
        ("7", None),
    ],
)
def test_times_on_other_clocks(text: str, meant: str | None) -> None:
    """Twelve-hour clock (12 am is midnight, 12 pm noon: common practice, no source), and other signs."""
    assert clock_meant(text) == meant


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("4/20/2027", [date(2027, 4, 20)]),
        ("20.4.2027", [date(2027, 4, 20)]),
        ("5/6/2027", [date(2027, 5, 6), date(2027, 6, 5)]),
        ("5/5/27", [date(2027, 5, 5)]),
        ("2027-4-20", [date(2027, 4, 20)]),
        ("2027/04/20", [date(2027, 4, 20)]),
        ("31/2/2027", []),
        ("4-20/2027", []),
        ("4/20", []),
        ("20/4/202", []),
    ],
)
def test_dates_of_other_countries(text: str, meant: list[date]) -> None:
    """Each reading that is in the calendar, and no other."""
    assert list(dates_meant(text)) == meant


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("east", 90.0),
        ("N", 0.0),
        ("south-west", 225.0),
        ("North North East", 22.5),
        ("nnw", 337.5),
        ("left", None),
    ],
)
def test_points_of_the_compass(text: str, meant: float | None) -> None:
    """Sixteen points, 22.5 degrees apart, clockwise from north (common practice, no source)."""
    assert bearing_meant(text) == meant


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("38.61 N", 38.61),
        ("38.61°S", -38.61),
        ("38° 30' n", 38.5),
        ("-38° 30'", -38.5),
        ("38.61", 38.61),
        ("-38.61 S", None),
        ("38.61 W", None),
        ("about 38", None),
    ],
)
def test_degrees_with_their_side(text: str, meant: float | None) -> None:
    """A sixtieth of a degree is a minute; a sign and a side together are refused, since they may contradict."""
    assert degrees_meant(text, "N", "S") == meant


@pytest.mark.parametrize(
    ("spot", "batch", "fix"),
    [
        ('sun_seen = [ { date = 2027-04-20, from = "7:40am", until = "10:15" } ]', "", 'write from = "07:40"'),
        ('sun_seen = [ { date = 2027-04-20, from = "early", until = "10:15" } ]', "", 'for example "07:40"'),
        ("", 'sown = "4/20/2027"', "write 2027-04-20"),
        ("", 'sown = "5/6/2027"', "write 2027-05-06 (6 May) or 2027-06-05 (5 Jun)"),
        ("", 'sown = "spring"', "for example 2027-05-01"),
        ('walls = [ { towards = "east", distance = "2 m", height = "2 m" } ]', "", "write 90, without quotes"),
        ('walls = [ { towards = -90, distance = "2 m", height = "2 m" } ]', "", "write 270"),
    ],
)
def test_a_repair_is_made_of_what_was_given(spot: str, batch: str, fix: str) -> None:
    """One fault, and its repair as it can be typed."""
    (fault,) = faults(spot, batch)
    assert fix in fault.splitlines()[-1]


def test_a_misspelt_key_that_must_be_there_is_one_fault() -> None:
    """It is not missing as well."""
    (fault,) = faults('walls = [ { toward = 270, distance = "2 m", height = "2 m" } ]')
    assert 'did you mean "towards"?' in fault
    (missing,) = faults('walls = [ { distance = "2 m", height = "2 m" } ]')
    assert "this key is missing" in missing


def test_a_window_on_the_twelve_hour_clock_is_converted() -> None:
    """Both of its ends."""
    with pytest.raises(GardenError, match="is no span of the day") as told:
        garden_from_text(
            Path("x"), GARDEN.format(spot="", batch="") + '[carer]\nweekdays = ["5:30pm-9pm", "06:30-07:40"]'
        )
    assert told.value.fix.endswith('"17:30-21:00"')
