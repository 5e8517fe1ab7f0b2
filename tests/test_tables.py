"""The packaged tables: complete, sourced, and equal to what their publications print."""

from __future__ import annotations

import math
import re
from dataclasses import fields
from itertools import pairwise
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st
from validation import compare, outside

from hardenoff.night import clear_calm_share
from hardenoff.records import Crop
from hardenoff.tables import (
    crop_names,
    find_crop,
    last_lead_days,
    load_crop_values,
    load_crops,
    load_emergence,
    load_night_model,
    load_rule_values,
    load_rules,
    low_spread_c,
)
from hardenoff.tables.rows import MARKS, read_rows, sourced

VALUE_TABLES = ("crop_values.csv", "emergence.csv", "rule_values.csv", "low_spread.csv", "night_model.csv")
TABLES = (*VALUE_TABLES, "crops.csv", "rules.csv")
NEVER = math.inf


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


# --- every row is founded ----------------------------------------------------------------------------


@pytest.mark.parametrize("table", VALUE_TABLES)
def test_every_number_has_a_unit(table: str) -> None:
    """A number without its unit is a number nobody can check."""
    assert all(row["unit"] for row in read_rows(table))


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_a_mark(table: str) -> None:
    """Published, common practice, or ours: nothing else."""
    assert {row["mark"] for row in read_rows(table)} <= set(MARKS)


@pytest.mark.parametrize("table", TABLES)
def test_every_source_fits_its_mark(table: str) -> None:
    """Ours says why; a published value names a publication with its year, or says that it has none (n.d.)."""
    for row in read_rows(table):
        if row["mark"] == "ours":
            assert row["source"].startswith("ours: "), row
        elif row["mark"] == "published":
            assert re.search(r"\b(19|20)\d\d\b|n\.d\.", row["source"]), row
        else:
            assert len(row["source"]) > 10, row


def test_a_number_with_an_unknown_mark_is_refused() -> None:
    """A damaged table is an error, not a default."""
    with pytest.raises(ValueError, match="guess"):
        sourced({"value": "1", "unit": "h", "mark": "guess", "source": "x"})


# --- crops ------------------------------------------------------------------------------------------


def test_there_are_the_usual_crops() -> None:
    """At least thirty, and each that growers most often raise from seed."""
    crops = load_crops()
    assert len(crops) >= 30
    assert {
        "tomato",
        "sweet_pepper",
        "eggplant",
        "cucumber",
        "basil",
        "lettuce",
        "kale",
        "onion",
        "petunia",
    } <= set(crops)


@pytest.mark.parametrize("key", load_crops())
def test_every_crop_has_every_value_that_its_record_needs(key: str) -> None:
    """No field is missing or not a number, and its rule exists."""
    crop = load_crops()[key]
    numbers = [getattr(crop, field.name) for field in fields(Crop) if field.type == "float"]
    assert len(numbers) == 9
    assert all(math.isfinite(number) for number in (*numbers, *crop.weeks_to_transplant))
    assert crop.rule in load_rules()


@pytest.mark.parametrize("key", load_crops())
def test_every_crop_has_what_the_season_needs(key: str) -> None:
    """Set-out weeks and least soil temperature."""
    assert {"set_out_weeks_least", "set_out_weeks_most", "least_soil"} <= set(load_crop_values()[key])


@pytest.mark.parametrize("crop", load_crops().values(), ids=lambda crop: crop.key)
def test_limits_stand_in_order(crop: Crop) -> None:
    """Hardening never raises a limit; injury lies below the limit that only checks growth; heat has two steps."""
    assert crop.check_below_hardened_c <= crop.check_below_tender_c
    assert crop.harm_below_hardened_c <= crop.harm_below_tender_c
    assert crop.harm_below_tender_c < crop.check_below_tender_c
    assert crop.harm_below_hardened_c < crop.check_below_hardened_c
    assert crop.heat_shade_c < crop.heat_in_c
    assert 0 < crop.weeks_to_transplant[0] <= crop.weeks_to_transplant[1]


@pytest.mark.parametrize("crop", load_crops().values(), ids=lambda crop: crop.key)
def test_frost_credit_is_for_hardy_crops_only(crop: Crop) -> None:
    """Cold-season seedlings gain freezing tolerance within days (cabbage: Ann. Bot. 78:365, 1996)."""
    assert (crop.harm_below_hardened_c < crop.harm_below_tender_c) == crop.hardy


@pytest.mark.parametrize("hardened", [False, True], ids=["tender", "hardened"])
@pytest.mark.parametrize("crop", load_crops().values(), ids=lambda crop: crop.key)
def test_under_cloud_harm_asks_for_no_more_than_the_check_limit_and_a_degree(crop: Crop, hardened: bool) -> None:
    """Overcast, calm, open sky, one day's lead: the air at which harm has odds 0.1, reckoned anew here."""
    check_c = crop.check_below_hardened_c if hardened else crop.check_below_tender_c
    harm_c = crop.harm_below_hardened_c if hardened else crop.harm_below_tender_c
    model = load_night_model()
    drop_c = (model.screen_to_tray_drop_c + model.leaf_drop_c) * clear_calm_share(1.0, 1.0, 0.0)
    least_air_c = harm_c + drop_c + NormalDist(0.0, low_spread_c(1)).inv_cdf(0.9)
    assert least_air_c <= check_c + 1.0


HUNDREDTH = "tables are in C, publications in F: rounded to a hundredth"
COPIED = "numbers that are copied"


@pytest.mark.parametrize("crop", load_crops().values(), ids=lambda crop: crop.key)
@outside(
    "Purdue Extension, Vegetable Crops Hotline: 50 F for tender transplants; Colorado State Extension: 40 F for "
    "hardy",
    "least air by day of every crop",
    within="0.005 C",
    because=HUNDREDTH,
)
def test_least_air_by_day_is_the_published_one(crop: Crop) -> None:
    """By its class alone."""
    compare(crop.least_air_c, celsius(40 if crop.hardy else 50))


@pytest.mark.parametrize("key", ["tomato", "snap_bean", "sweet_corn", "zinnia"])
@outside(
    "Penn State Extension 2023, *Hardening Transplants*: bring in below 45-50 F",
    "air below which tender crops come in, 50 F at first, 45 F once hardened",
    within="0.005 C",
    because=HUNDREDTH,
)
def test_tender_crops_come_in_below_the_extension_range(key: str) -> None:
    """The top of the range when tender, the foot once hardened."""
    crop = load_crops()[key]
    compare(crop.check_below_tender_c, celsius(50))
    compare(crop.check_below_hardened_c, celsius(45))


SET_OUT_WEEKS = {  # Purdue Extension HO-203 after Univ. Illinois VC-14: weeks after the mean frost-free date
    "tomato": (0, 0), "snap_bean": (0, 0), "sweet_corn": (0, 0), "petunia": (0, 0),
    "sweet_pepper": (1, 2), "cucumber": (1, 2), "melon": (1, 2), "okra": (1, 2), "zinnia": (1, 2),
    "broccoli": (-3, -2), "cabbage": (-3, -2), "onion": (-3, -2), "celery": (-3, -2), "beet": (-3, -2),
    "lettuce": (-6, -4), "kale": (-6, -4), "spinach": (-6, -4), "pea": (-6, -4), "pansy": (-6, -4),
}  # fmt: skip


@pytest.mark.parametrize(("key", "weeks"), SET_OUT_WEEKS.items())
@outside(
    "Purdue Extension HO-203 after Univ. Illinois VC-14",
    "weeks after the mean frost-free date at which crops are set out",
    within="equal",
    because=COPIED,
)
def test_set_out_weeks_are_the_published_classes(key: str, weeks: tuple[int, int]) -> None:
    """Very hardy, frost tolerant, tender, warm-loving: the four classes of the publication."""
    values = load_crop_values()[key]
    compare((values["set_out_weeks_least"].value, values["set_out_weeks_most"].value), weeks)


LEAST_SOIL_F = {  # Univ. Georgia CAES, Soil Temperatures: Don't Rush Mother Nature, 18 April 2000
    "tomato": 60, "cucumber": 60, "snap_bean": 60, "sweet_corn": 65, "sweet_pepper": 70, "watermelon": 70,
    "summer_squash": 70, "okra": 75, "melon": 75, "sweet_potato": 75,
}  # fmt: skip


@pytest.mark.parametrize(("key", "least_f"), LEAST_SOIL_F.items())
@outside(
    "Univ. Georgia CAES 2000, *Soil Temperatures: Don't Rush Mother Nature*",
    "least soil temperature for setting out or sowing",
    within="0.005 C",
    because=HUNDREDTH,
)
def test_least_soil_temperatures_are_the_published_ones(key: str, least_f: float) -> None:
    """Three mornings in a row, 4 to 6 inches deep."""
    value = load_crop_values()[key]["least_soil"]
    compare(value.value, celsius(least_f))
    assert value.mark == "published"


STANDARD_PERCENT = {  # 7 CFR 201.31 (59 FR 64491, 14 December 1994)
    "snap_bean": 70, "beet": 65, "broccoli": 75, "brussels_sprouts": 70, "cabbage": 75, "cauliflower": 75,
    "celery": 55, "swiss_chard": 65, "sweet_corn": 75, "cucumber": 80, "eggplant": 60, "kale": 75, "leek": 60,
    "lettuce": 80, "melon": 75, "okra": 50, "onion": 70, "parsley": 60, "pea": 80, "sweet_pepper": 55,
    "hot_pepper": 55, "winter_squash": 75, "spinach": 60, "summer_squash": 75, "tomato": 75, "watermelon": 70,
}  # fmt: skip


@outside(
    "7 CFR 201.31 (59 FR 64491, 14 December 1994)",
    "germination standard of 26 kinds, and of no other",
    within="equal",
    because=COPIED,
)
def test_germination_standards_are_the_federal_ones() -> None:
    """Every listed kind has its percentage, and what the rule doesn't cover (herbs, flowers, slips) has none."""
    ours = {
        key: round(100 * values["germination_standard"].value)
        for key, values in load_crop_values().items()
        if "germination_standard" in values
    }
    compare(ours, STANDARD_PERCENT)


DAYS_TO_EMERGENCE = {  # Harrington & Minges 1954; soil at 0, 5, 10, 15, 20, 25, 30, 35 C; None: not in the table
    "tomato": (None, None, 43, 14, 8, 6, 6, 9),
    "sweet_pepper": (None, None, NEVER, 25, 13, 8, 8, 9),
    "eggplant": (None, None, None, None, 13, 8, 5, None),
    "cucumber": (None, None, NEVER, 13, 6, 4, 3, 3),
    "melon": (None, None, None, None, 8, 4, 3, None),
    "watermelon": (None, NEVER, None, None, 12, 5, 4, 3),
    "okra": (None, NEVER, NEVER, 27, 17, 13, 7, 6),
    "snap_bean": (None, NEVER, NEVER, 16, 11, 8, 6, 6),
    "sweet_corn": (None, NEVER, 22, 12, 7, 4, 4, 3),
    "lettuce": (49, 15, 7, 4, 3, 2, 3, NEVER),
    "cabbage": (None, None, 15, 9, 6, 5, 4, None),
    "cauliflower": (None, None, 20, 10, 6, 5, 5, None),
    "onion": (136, 31, 13, 7, 5, 4, 4, 13),
    "celery": (None, 41, 16, 12, 7, NEVER, NEVER, NEVER),
    "beet": (None, 42, 17, 10, 6, 5, 5, 5),
    "spinach": (63, 23, 12, 7, 6, 5, 6, NEVER),
    "pea": (None, 36, 14, 9, 8, 6, 6, None),
    "parsley": (None, None, 29, 17, 14, 13, 12, None),
}


@pytest.mark.parametrize(("key", "days"), DAYS_TO_EMERGENCE.items())
@outside(
    "Harrington & Minges 1954, Univ. California leaflet, as reprinted in *Teaching Organic Farming and Gardening*",
    "days from sowing to emergence by soil temperature, cell by cell up to 35 C",
    within="equal",
    because=COPIED,
)
def test_days_to_emergence_are_the_published_cells(key: str, days: tuple[float | None, ...]) -> None:
    """Cell by cell the table of 1954, as reprinted in Teaching Organic Farming and Gardening, Unit 1.3."""
    published = {5.0 * column: cell for column, cell in enumerate(days) if cell is not None}
    cells = {cell.soil_temperature_c: cell for cell in load_emergence()[key] if cell.soil_temperature_c <= 35.0}
    compare({at: cell.days_least for at, cell in cells.items()}, published)
    assert {cell.mark for cell in cells.values()} == {"published"}
    assert all(cell.days_least == cell.days_most for cell in cells.values())


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("tomato", "tomato"),
        ("Sweet Pepper", "sweet_pepper"),
        ("sweet_pepper", "sweet_pepper"),
        ("  BELL-pepper ", "sweet_pepper"),
        ("brussels sprouts", "brussels_sprouts"),
        ("Aubergine", "eggplant"),
        ("courgette", "summer_squash"),
        ("jalapeño", "hot_pepper"),
        ("Scallions", "onion"),
    ],
)
def test_a_crop_is_found_by_key_name_or_alias(typed: str, key: str) -> None:
    """Capitals, hyphens, underscores and spaces don't matter."""
    found = find_crop(typed)
    assert found is not None
    assert found.key == key


@pytest.mark.parametrize("typed", ["", "tomatillo x", "pep"])
def test_an_unknown_crop_is_none(typed: str) -> None:
    """No guessing: the garden file's reader says what is near."""
    assert find_crop(typed) is None


def test_no_word_means_two_crops() -> None:
    """Names and aliases are all different, and each finds a crop."""
    words = [word.casefold() for word in crop_names()]
    assert len(words) == len(set(words))
    assert all(find_crop(word) for word in words)


# --- rules ------------------------------------------------------------------------------------------


def column(rule: str, name: str) -> list[float | None]:
    return [getattr(row, name) for row in load_rules()[rule].rows]


def test_the_twelve_days_are_as_designed() -> None:
    """Our default, a row a ramp-day."""
    rule = load_rules()["twelve_days"]
    assert column("twelve_days", "outdoor_hours") == [2.5, 3.5, 4.5, 5.5, 6, 6, 8, 10, 12, 14, 14, 15]
    assert column("twelve_days", "direct_sun_hours") == [0, 0, 0, 0, 1, 2, 2.5, 3, 3.5, 4, 6, 8]
    assert column("twelve_days", "gust_m_s") == [5, 5, 5, 5.5, 6, 7, 7.5, 8, 8.5, 9, 10, 11]
    assert column("twelve_days", "nights_out") == [False] * 10 + [True] * 2
    assert column("twelve_days", "least_air_c") == [None] * 12
    assert (rule.light_growth, rule.light_step_mol) == (1, 5)


@outside(
    "Purdue Extension, Vegetable Crops Hotline, *Preparing Vegetable Transplants*: half shade for 3-4 h on days "
    "1-2, then 20 % shade and 1-2 h more a day, then sun, then nights",
    "the rule `three_steps`",
    within="equal",
    because="the longest of its ranges; what it leaves out is blank",
)
def test_the_three_steps_are_as_published() -> None:
    """A row a day."""
    compare(column("three_steps", "open_share"), [0.5, 0.5, 0.8, 0.8, 1, 1, 1, 1])
    compare(column("three_steps", "outdoor_hours"), [4, 4, 6, 8, None, None, 24, 24])
    compare(column("three_steps", "nights_out"), [False] * 6 + [True] * 2)
    compare(column("three_steps", "least_air_c"), [10.0] * 8)
    compare(column("three_steps", "least_night_c")[6:], [10.0] * 2)


@outside(
    "Univ. Wisconsin-Green Bay, plant care sheet: half an hour, an hour, an hour more a day to about six, all day "
    "and night after day 7; 60 F by day, 50 F by night",
    "the rule `half_hour_first`",
    within="equal",
    because="copied; 60 F to a hundredth of a degree C",
)
def test_the_half_hour_plan_is_as_published() -> None:
    """A row a day."""
    compare(column("half_hour_first", "outdoor_hours"), [0.5, 1, 2, 3, 4, 5, 6, 24])
    compare(column("half_hour_first", "nights_out"), [False] * 7 + [True])
    compare(column("half_hour_first", "least_air_c"), [round(celsius(60), 2)] * 8)
    compare(column("half_hour_first", "least_night_c")[7], round(celsius(50), 2))


@pytest.mark.parametrize("rule", ["three_steps", "half_hour_first"])
def test_a_published_rule_stays_blank_where_its_publication_is(rule: str) -> None:
    """Neither prints hours of direct sun or a wind; the light cap is then ours, and slower."""
    assert set(column(rule, "direct_sun_hours")) == {None}
    assert set(column(rule, "gust_m_s")) == {None}
    assert (load_rules()[rule].light_growth, load_rules()[rule].light_step_mol) == (0.5, 3)
    marks = {value.mark for day, row in load_rule_values()[rule].items() if day > 0 for value in row.values()}
    assert marks == {"published"}


NINETEEN = "nineteen schedules of extension services and the trade"


@pytest.mark.parametrize("rule", load_rules().values(), ids=lambda rule: rule.key)
@outside(NINETEEN, "length of every rule", within="3 to 18 d", because="the shortest and the longest of them")
def test_every_rule_is_as_long_as_published_practice(rule) -> None:
    """Ramp-days."""
    compare(rule.length)


@pytest.mark.parametrize("rule", load_rules().values(), ids=lambda rule: rule.key)
@outside(
    NINETEEN, "first outing of every rule", within="0.5 to 4 h", because="the shortest and the longest of them"
)
def test_every_rule_begins_as_published_practice(rule) -> None:
    """Hours outside on the first day."""
    compare(rule.rows[0].outdoor_hours)


@pytest.mark.parametrize("key", ["twelve_days", "seven_days"])
def test_our_rules_step_as_extension_plans_do(key: str) -> None:
    """At most 2 hours more a day (Purdue: +1-2 h) until all day, no direct sun at first, nights from day 5 on."""
    rows = load_rules()[key].rows
    hours = [row.outdoor_hours for row in rows if row.outdoor_hours < 24.0]
    steps = [after - before for before, after in pairwise(hours)]
    assert all(0 <= step <= 2 for step in steps)
    for name in ("direct_sun_hours", "gust_m_s", "nights_out"):
        values = column(key, name)
        assert values == sorted(values)
    assert rows[0].direct_sun_hours == 0
    assert not any(row.nights_out for row in rows[:4])


def test_crops_take_the_rule_of_their_kind() -> None:
    """Twelve days for tender crops, the shorter one for hardy crops."""
    assert {(crop.hardy, crop.rule) for crop in load_crops().values()} == {
        (True, "seven_days"),
        (False, "twelve_days"),
    }


# --- spread -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("lead", "forecast_sd_c"), [(1, 1.6), (3, 2.1), (5, 2.7), (8, 3.5), (10, 3.7)])
def test_spread_is_the_forecast_error_with_the_siting_error(lead: int, forecast_sd_c: float) -> None:
    """In quadrature with 0.8 C (ours)."""
    assert low_spread_c(lead) == pytest.approx(math.sqrt(forecast_sd_c**2 + 0.8**2))


@pytest.mark.parametrize(("day", "mae_c"), [(1, 1.03), (2, 1.15), (3, 1.36), (4, 1.82), (5, 2.32), (7, 2.48)])
@outside(
    "a regional forecast's verification at an alpine station, winter 2011/12, days 1 to 5; a US log of lows, day "
    "7 (4.46 F)",
    "standard deviation of a forecast low, as a share of theirs",
    within="at least 0.95",
    because="never surer than what was measured, but for rounding",
    kind="measured",
)
def test_spread_covers_measured_forecast_errors(day: int, mae_c: float) -> None:
    """A normal error's standard deviation is sqrt(pi / 2) times its mean absolute error."""
    compare(low_spread_c(day) / (math.sqrt(math.pi / 2) * mae_c))


def test_spread_between_days_is_on_the_line() -> None:
    """Half-way between 1.6 and 1.8 C."""
    assert low_spread_c(1.5) == pytest.approx(math.hypot(1.7, 0.8))


@given(st.floats(0, 40), st.floats(0, 10))
def test_spread_never_shrinks_with_lead(lead: float, more: float) -> None:
    """Constant before the first day and, at the season's own spread, after the last."""
    assert low_spread_c(lead + more) >= low_spread_c(lead)
    assert low_spread_c(0) == low_spread_c(1)
    assert low_spread_c(40) == low_spread_c(11)


@outside(
    "daily minima within a week of 15 April at Champion, Nebraska, 1982-2018: standard deviation 4.28 C",
    "spread past the table, siting error of 0.8 C included",
    within="0.05 C",
    because="the table has one digit",
    kind="measured",
)
def test_past_the_table_the_spread_is_the_seasons() -> None:
    """No forecast is worse than none."""
    assert last_lead_days() == 10
    assert low_spread_c(10) < low_spread_c(10.1)
    compare(low_spread_c(10.1), math.hypot(4.28, 0.8))
