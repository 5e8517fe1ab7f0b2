"""Words of VALIDATION.md that come from no test: its head, its subjects, and what is checked against nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from importlib import import_module

from hardenoff.tables.rows import MARKS, read_rows

HEAD = """# What is checked against something outside

Written by `python tests/validation.py` from the tests that are marked `@outside`; `pytest -m outside` runs them.
Don't edit it: `tests/test_validation.py` holds it to them.

*Within* is the tolerance: beyond it the test fails. *Found* is the largest difference that was measured, rounded
up a little, or the least and the largest value where a source gives a band; in brackets, of how many cases. Beyond
what was found, too, the test fails until this page is written anew; only where cases are *drawn* at random, and
others in another version, it is roughly what was found when the page was written. A percentage is of the expected
value. *From memory* says that a number was not read again in its source.
"""

SUBJECTS = {
    "The sun and the clear sky": ("test_sun_position", "test_fao56"),
    "What stands in the sun's way": (
        "test_sun_geometry",
        "test_sun_laws",
        "test_sun_windows",
        "test_sun_seen",
        "test_sun_sky_view",
    ),
    "Light, and radiation that a forecast leaves out": ("test_sun_light",),
    "Nights": ("test_night", "test_learned", "test_skill"),
    "Wind and humidity": ("test_wind", "test_frame"),
    "Tables and rules": ("test_tables", "test_ramp_practice", "test_ramp_rules", "test_ramp_state"),
    "The day's choice": ("test_ramp_choice", "test_ramp_properties"),
    "Trials": ("test_trial_weather",),
    "Replies, units, files": (
        "test_intervals",
        "test_nws",
        "test_met_norway",
        "test_saved",
        "test_fetch",
        "test_units",
        "test_journal",
        "test_json",
    ),
}
"""Every test module with a check, under its heading, in reading order."""


@dataclass(frozen=True)
class Gap:
    """Something that matters and is held against nothing outside."""

    what: str
    why: str
    names: tuple[str, ...] = ()
    """Constants as `module:NAME` below hardenoff, numbers of a table as `file.csv:quantity`."""


NOT_CHECKED = (
    Gap(
        "How fast a batch hardens: the rows of our two rules, the light cap (r, d0), the three and six days in "
        "which leaves get used to more and to less light, what an outing earns, what days inside cost",
        "No publication we found gives a time constant or a damaging dose in mol for seedlings of any of these "
        "crops; extension schedules are calendars and contradict each other. Ours is held to their common core "
        "(*Tables and rules*), not to plants.",
        (
            "rule_values.csv:light_growth",
            "rule_values.csv:light_step",
            "rule_values.csv:gust",
            "ramp.credit:SHELTERED",
            "ramp.credit:DULL_DAY",
            "ramp.credit:CATCH_UP",
            "ramp.state:IDLE_LOSS",
            "ramp.state:IDLE_LOSS_MOST",
        ),
    ),
    Gap(
        "The worth of an outing: points for moves, cool and gusty hours, nights, an axis that is ahead or done",
        "Tastes of ours. That the search finds the best day by them is checked (*The day's choice*), that they "
        "are the right ones can't be.",
        (
            "ramp.credit:MOVE_COST",
            "ramp.table:COOL_HOUR_COST",
            "ramp.table:GUST_HOUR_COST",
            "ramp.credit:NIGHT_WORTH",
            "ramp.weights:LIGHT_WORTH",
            "ramp.weights:AHEAD_DAYS",
            "ramp.weights:AHEAD_WORTH",
            "ramp.weights:DONE_WORTH",
            "ramp.weights:LIGHT_GAIN",
        ),
    ),
    Gap(
        "The limits of injury, of heat and of rain, crop by crop, and of nights that check growth but for four "
        "crops",
        "Published injury thresholds are of leaves in cooled chambers and differ by variety, duration and "
        "hardening; schedules name neither heat nor rain. The table says of each number why it was taken.",
        (
            "crop_values.csv:check_below_tender",
            "crop_values.csv:check_below_hardened",
            "crop_values.csv:harm_below_tender",
            "crop_values.csv:harm_below_hardened",
            "crop_values.csv:heat_shade",
            "crop_values.csv:heat_in",
            "crop_values.csv:sun_after_cold_night",
            "crop_values.csv:heavy_rain",
        ),
    ),
    Gap(
        "Weeks from sowing to transplanting, depth of sowing, and those emergence days and soil temperatures that "
        "the tests don't print a second time",
        "Copied from the publication that stands in their row; only the lists under *Tables and rules* were typed "
        "twice.",
        (
            "crop_values.csv:weeks_to_transplant_least",
            "crop_values.csv:weeks_to_transplant_most",
            "crop_values.csv:sowing_depth",
        ),
    ),
    Gap(
        "The low at a leaf as a whole: the drop from screen to tray, its fading with wind, the sky of a porch",
        "Each part lies in its measured band or follows the leaf's energy balance (*Nights*), but no series of "
        "leaf temperatures at porches and beds was at hand. A grower's own lows take over where they are logged.",
        (
            "night_model.csv:screen_to_tray_drop",
            "night_model.csv:calm_wind",
            "night_model.csv:breeze_share",
            "night_model.csv:windy_share",
        ),
    ),
    Gap(
        "How far a forecast low is off, place by place and beyond day 7",
        "No archive of forecasts beside what came was at hand, only printed averages of two places. From twenty "
        "logged nights on a garden's own errors are used.",
        ("low_spread.csv:", "night_model.csv:member_inflation"),
    ),
    Gap(
        "When a night is unknown, and what counts as clear and calm",
        "Caution of ours, on the safe side of the frost handbook's radiation night.",
        (
            "night_model.csv:least_hours_present",
            "night_model.csv:dawn_before",
            "night_model.csv:clear_night_share",
        ),
    ),
    Gap(
        "What cloud leaves of the beam, hour by hour: thin high cloud at three tenths of its cover, the brightest "
        "sky of a day at 1.1 times",
        "No measured hours with cloud by layer and beam were at hand; daily sums are checked on a typical year.",
        ("sun.radiation:HIGH_CLOUD_WEIGHT", "sun.light:MOST_LIGHT", "sun.light:BROKEN_CLOUD"),
    ),
    Gap(
        "A spot told by the times the sun was seen: how its edges move between dates and stay beyond them",
        "A modest guess where nobody looked; said in a warning after three weeks. On the dates seen it is "
        "checked.",
        ("sun.seen:TRUSTED_DAYS", "sun.sky_view:UNKNOWN_SKY"),
    ),
    Gap(
        "Shelter: the share of the wind that a spot lets through",
        "The grower's own figure. From 10 m down to the plant the gust is checked (*Wind and humidity*).",
    ),
    Gap(
        "What a trial counts as harm, and the errors of its forecasts",
        "Degree-hours and hours beyond a limit are a yardstick, not damage that was seen on plants; the charts on "
        "the wall that it is held against are published. The errors' size is that of `low_spread.csv`, their "
        "memory is ours.",
        ("trial.harm:SUN_OVER_TABLE", "trial.error:AIR_MEMORY_H", "trial.error:SKY_SD"),
    ),
    Gap(
        "Reference evapotranspiration, wet bulb and frost point",
        "Nothing here works them out: a provider's ET0 is passed on as it comes, and the night model needs air, "
        "cloud, wind and sky only. So there is nothing to hold to FAO-56's ET0 or to a psychrometric chart.",
    ),
    Gap(
        "Frost dates by place, days to emergence in the season, calendar files",
        "Not built yet. Their checks come with them.",
    ),
)


def there(name: str) -> bool:
    """Whether the constant, or a row of the table with that quantity, is there."""
    where, _, what = name.partition(":")
    if where.endswith(".csv"):
        return any(row.get("quantity", "") == what for row in read_rows(where))
    return hasattr(import_module(f"hardenoff.{where}"), what)


def closing() -> str:
    """The gaps, and how many numbers of each table are whose."""
    gaps = [f"- **{gap.what}.** {gap.why}{_of(gap)}" for gap in NOT_CHECKED]
    return "\n".join(["## Not checked against anything outside, and why", "", *gaps, "", *_whose()])


def _of(gap: Gap) -> str:
    names = (name.rstrip(":").replace(":", ": ") for name in gap.names)
    return f" (`{'`, `'.join(names)}`)" if gap.names else ""


TABLES = ("crop_values.csv", "emergence.csv", "rule_values.csv", "night_model.csv", "low_spread.csv")


def _whose() -> list[str]:
    lines = ["Numbers of each table that stand in a publication, in common practice, or are ours:", ""]
    lines += [
        f"| table | {' | '.join(mark.replace('_', ' ') for mark in MARKS)} |",
        "|---" * (len(MARKS) + 1) + "|",
    ]
    for table in TABLES:
        marks = Counter(row["mark"] for row in read_rows(table))
        lines.append(f"| `{table}` | {' | '.join(str(marks[mark]) for mark in MARKS)} |")
    return lines
