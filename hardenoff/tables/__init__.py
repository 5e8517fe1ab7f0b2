"""Numbers that are data: crops, ramp rules, forecast spread, the night model; each with unit, mark and source.

Every table is a CSV file beside this one, read once when it is first asked for. A row's `mark` is
`published` (the value stands in the publication named), `common_practice` (growers do so, no source) or
`ours` (a default of this project, open to the grower).
"""

from hardenoff.tables.crops import (
    EmergenceCell,
    crop_names,
    find_crop,
    load_crop_values,
    load_crops,
    load_emergence,
)
from hardenoff.tables.nights import NightModel, load_night_model
from hardenoff.tables.rows import Value
from hardenoff.tables.rules import STAND_IN_RULE, load_rule_values, load_rules
from hardenoff.tables.spread import last_lead_days, low_spread_c, siting_sd_c

__all__ = [
    "STAND_IN_RULE",
    "EmergenceCell",
    "NightModel",
    "Value",
    "crop_names",
    "find_crop",
    "last_lead_days",
    "load_crop_values",
    "load_crops",
    "load_emergence",
    "load_night_model",
    "load_rule_values",
    "load_rules",
    "low_spread_c",
    "siting_sd_c",
]
