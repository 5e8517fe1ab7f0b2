"""Ramp rules by key: our two defaults and the published plans, with the source of each number."""

from __future__ import annotations

from functools import cache

from hardenoff.records import Rule, RuleRow
from hardenoff.tables.rows import Value, read_rows, sourced

STAND_IN_RULE = "twelve_days"
"""Key of the rule whose wind limits stand in where another rule is silent on wind (ours)."""
_WHOLE = 0
"""Stands for the day in rows that hold for the whole rule."""


@cache
def load_rules() -> dict[str, Rule]:
    """Every ramp rule by its key. What a publication doesn't say is None in its rows."""
    return {row["rule"]: _rule(row, load_rule_values()[row["rule"]]) for row in read_rows("rules.csv")}


@cache
def load_rule_values() -> dict[str, dict[int, dict[str, Value]]]:
    """Rule key -> ramp-day (from 1; 0 = the whole rule) -> quantity -> value with unit, mark and source."""
    values: dict[str, dict[int, dict[str, Value]]] = {}
    for row in read_rows("rule_values.csv"):
        day = int(row["day"]) if row["day"] else _WHOLE
        values.setdefault(row["rule"], {}).setdefault(day, {})[row["quantity"]] = sourced(row)
    return values


def _rule(row: dict[str, str], values: dict[int, dict[str, Value]]) -> Rule:
    return Rule(
        key=row["rule"],
        title=row["title"],
        source=row["source"],
        rows=tuple(_row(values[day]) for day in sorted(values) if day != _WHOLE),
        light_growth=values[_WHOLE]["light_growth"].value,
        light_step_mol=values[_WHOLE]["light_step"].value,
    )


def _row(values: dict[str, Value]) -> RuleRow:
    def number(quantity: str) -> float | None:
        return values[quantity].value if quantity in values else None

    return RuleRow(
        outdoor_hours=number("outdoor_hours"),
        direct_sun_hours=number("direct_sun_hours"),
        open_share=number("open_share"),
        gust_m_s=number("gust"),
        least_air_c=number("least_air"),
        nights_out=values["nights_out"].value == 1.0,
        least_night_c=number("least_night"),
    )
