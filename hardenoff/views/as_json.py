"""The schedule as JSON documents for programs: stable keys, SI units, ISO times with offset, never NaN.

`hardenoff/schemas/` holds the published JSON Schema of each document; `schema` in a document names it.
A later version may add keys; it takes none away without a new number.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from hardenoff.schedule.records import (
    BatchDay,
    BatchNight,
    Change,
    Day,
    Finish,
    ForecastNote,
    Move,
    NightAnswer,
    Placement,
    Reason,
    Schedule,
    StripHour,
    WatchedNight,
)

Document = dict[str, Any]

DECIMALS = 4
"""Numbers are rounded to this; rounding keeps the order of any two numbers."""


def dumps(document: Mapping[str, Any]) -> str:
    """A document as text that ends in a line break. ValueError if a NaN has slipped through."""
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


# --- documents -------------------------------------------------------------------------------------


def today(schedule: Schedule) -> Document:
    """`hardenoff.today/1`."""
    return {
        "schema": "hardenoff.today/1",
        **_head(schedule),
        "moves": [_move(move) for move in schedule.moves],
        "batches": [_batch_day(batch) for batch in schedule.days[0].batches],
    }


def tonight(schedule: Schedule) -> Document:
    """`hardenoff.tonight/1`."""
    return {
        "schema": "hardenoff.tonight/1",
        **_head(schedule),
        "nights": [_watched(night) for night in schedule.nights],
    }


def plan(schedule: Schedule) -> Document:
    """`hardenoff.plan/1`."""
    return {
        "schema": "hardenoff.plan/1",
        **_head(schedule),
        "days": [_day(one) for one in schedule.days],
        "batches": [_finish(finish) for finish in schedule.finishes],
        "changes": [_change(change) for change in schedule.changes],
    }


def _head(schedule: Schedule) -> Document:
    return {
        "now": moment(schedule.now),
        "date": schedule.date.isoformat(),
        "timezone": schedule.timezone,
        "place": schedule.place,
        "forecast": forecast_note(schedule.forecast),
    }


# --- parts -----------------------------------------------------------------------------------------


def number(value: float | None) -> float | None:
    """A number, or None for one that is unknown (None, NaN) or without bound."""
    return None if value is None or not math.isfinite(value) else round(value, DECIMALS)


def moment(at: datetime | None) -> str | None:
    """ISO 8601 with offset."""
    return None if at is None else at.isoformat()


def _date(on: date | None) -> str | None:
    return None if on is None else on.isoformat()


def forecast_note(note: ForecastNote) -> Document:
    """What the answer was made from."""
    return {
        "provider": note.provider,
        "issued_at": moment(note.issued_at),
        "fetched_at": moment(note.fetched_at),
        "age_hours": number(note.age_hours),
        "status": note.status,
        "attribution": note.attribution,
        "notes": list(note.notes),
    }


def _reason(reason: Reason) -> Document:
    return {
        "code": reason.code,
        "text": reason.text,
        "value": number(reason.value),
        "limit": number(reason.limit),
        "unit": reason.unit,
        "source": reason.source,
    }


def _placement(place: Placement) -> Document:
    return {"spot": place.spot, "from": moment(place.start), "until": moment(place.end)}


def _move(move: Move) -> Document:
    return {
        "at": moment(move.at),
        "batches": list(move.batches),
        "trays": move.trays,
        "from": move.origin,
        "to": move.target,
    }


def _day(day: Day) -> Document:
    return {
        "date": day.date.isoformat(),
        "certainty": day.certainty,
        "batches": [_batch_day(batch) for batch in day.batches],
    }


def _batch_day(batch: BatchDay) -> Document:
    return {
        "batch": batch.batch,
        "crop": batch.crop,
        "trays": batch.trays,
        "stage": batch.stage,
        "verdict": batch.verdict,
        "way": batch.way,
        "placements": [_placement(place) for place in batch.placements],
        "outdoor_hours": number(batch.outdoor_hours),
        "direct_sun_hours_likely": number(batch.direct_sun_hours_likely),
        "direct_sun_hours_if_clear": number(batch.direct_sun_hours_if_clear),
        "limits": {
            "outdoor_hours": number(batch.limits.outdoor_hours),
            "direct_sun_hours": number(batch.limits.direct_sun_hours),
            "light_mol": number(batch.limits.light_mol),
            "gust_m_s": number(batch.limits.gust_m_s),
            "least_air_c": number(batch.limits.least_air_c),
            "nights_out": batch.limits.nights_out,
        },
        "light_mol_likely": number(batch.light_mol_likely),
        "light_mol_if_clear": number(batch.light_mol_if_clear),
        "light_mol_outdoor_likely": number(batch.light_mol_outdoor_likely),
        "state": {
            "air": number(batch.state.air),
            "sun": number(batch.state.sun),
            "cold": number(batch.state.cold),
            "light_mol": number(batch.state.light_mol),
            "ramp_days": number(batch.state.ramp_days),
            "confidence": batch.state.confidence,
        },
        "night": None if batch.night is None else _night(batch.night),
        "water_by": moment(batch.water_by),
        "rule": batch.rule,
        "rule_source": batch.rule_source,
        "hold_costs": batch.hold_costs,
        "reasons": [_reason(reason) for reason in batch.reasons],
        "warnings": [_reason(warning) for warning in batch.warnings],
        "strip": [_strip_hour(hour) for hour in batch.strip],
    }


def _night(night: NightAnswer) -> Document:
    return {
        "evening": night.evening.isoformat(),
        "morning": night.morning.isoformat(),
        "spot": night.spot,
        "forecast_low_c": number(night.forecast_low_c),
        "air_low_c": number(night.air_low_c),
        "leaf_low_c": number(night.leaf_low_c),
        "low_1_in_10_c": number(night.low_1_in_10_c),
        "low_at": moment(night.low_at),
        "check_below_c": number(night.check_below_c),
        "harm_below_c": number(night.harm_below_c),
        "odds_check": number(night.odds_check),
        "odds_harm": number(night.odds_harm),
        "verdict": night.verdict,
        "because": night.because,
        "action": night.action,
    }


def _strip_hour(hour: StripHour) -> Document:
    return {
        "at": moment(hour.at),
        "spot": hour.spot,
        "sun_share": number(hour.sun_share),
        "air_c": number(hour.air_c),
        "gust_m_s": number(hour.gust_m_s),
        "gust_at_plant_m_s": number(hour.gust_at_plant_m_s),
    }


def _watched(night: WatchedNight) -> Document:
    return {
        "evening": night.evening.isoformat(),
        "morning": night.morning.isoformat(),
        "running": night.running,
        "batches": [_batch_night(one) for one in night.batches],
    }


def _batch_night(one: BatchNight) -> Document:
    return {
        "batch": one.batch,
        "crop": one.crop,
        "trays": one.trays,
        "stage": one.stage,
        "night": _night(one.night),
        "reasons": [_reason(reason) for reason in one.reasons],
    }


def _finish(finish: Finish) -> Document:
    return {
        "batch": finish.batch,
        "hardened_on": {
            "earliest": _date(finish.earliest),
            "likely": _date(finish.likely),
            "latest": _date(finish.latest),
        },
        "plant_out": _date(finish.plant_out),
        "wait_until": _date(finish.wait_until),
        "reasons": [_reason(reason) for reason in finish.reasons],
    }


def _change(change: Change) -> Document:
    return {"batch": change.batch, "what": change.what, "was": change.was, "now": change.now, "why": change.why}
