"""A gate that is shut, as a reason: its code, the number behind it and the limit it is held against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from hardenoff.ramp.limits import DayLimits
from hardenoff.ramp.table import Margins
from hardenoff.schedule.records import Reason

OURS = "hardenoff's own default"
GateName = Literal["unknown", "gust", "rain", "heat", "full", "chilled", "cold", "chilly"]
"""As in `ramp.table.Gates`, where they say what each is."""


@dataclass(frozen=True, slots=True)
class Met:
    """What the forecast has while a gate is shut."""

    low_c: float
    high_c: float
    gust_m_s: float
    """At the plant."""


def gate_reason(name: GateName, text: str, met: Met, limits: DayLimits, margins: Margins) -> Reason:
    """The reason that a gate is, in words that say where and when."""
    match name:
        case "unknown":
            return Reason("hours_unknown", text)
        case "gust":
            return Reason("gust", text, met.gust_m_s * margins.gust, limits.gust_m_s, "m/s", OURS)
        case "heat":
            return Reason("heat", text, met.high_c, None, "degC", OURS)
        case "cold":
            return Reason("cold", text, met.low_c - margins.air_c, limits.least_air_c, "degC", OURS)
        case "chilly":
            return Reason("cold", text, met.low_c, limits.check_below_c, "degC", OURS)
        case "rain" | "full" | "chilled":
            return Reason(name, text)
