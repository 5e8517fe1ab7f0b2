"""The parts that JSON documents are made of: one function a record, keys as published, times with offset."""

from __future__ import annotations

import math
from datetime import date, datetime
from typing import Any

from hardenoff.schedule.records import (
    BatchDay,
    BatchNight,
    Change,
    Criterion,
    Day,
    Finish,
    FinishOdds,
    ForecastNote,
    GoodEnough,
    HardenedBy,
    Missed,
    Move,
    NightAnswer,
    Placement,
    Reason,
    StripHour,
    WatchedNight,
)

Document = dict[str, Any]

DECIMALS = 4
"""Numbers are rounded to this; rounding keeps the order of any two numbers."""


def number(value: float | None) -> float | None:
    """A number, or None for one that is unknown (None, NaN) or without bound."""
    return None if value is None or not math.isfinite(value) else round(value, DECIMALS)


def moment(at: datetime | None) -> str | None:
    """ISO 8601 with offset."""
    return None if at is None else at.isoformat()


def calendar_date(on: date | None) -> str | None:
    """ISO 8601, a local date of the place."""
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


def reason(why: Reason) -> Document:
    """A reason or a warning."""
    return {
        "code": why.code,
        "text": why.text,
        "value": number(why.value),
        "limit": number(why.limit),
        "unit": why.unit,
        "source": why.source,
    }


def _placement(place: Placement) -> Document:
    return {"spot": place.spot, "from": moment(place.start), "until": moment(place.end)}


def move(carry: Move) -> Document:
    """One carry."""
    return {
        "at": moment(carry.at),
        "batches": list(carry.batches),
        "trays": carry.trays,
        "from": carry.origin,
        "to": carry.target,
        "minutes": number(carry.minutes),
    }


def day(one: Day) -> Document:
    """One date with all batches."""
    return {
        "date": one.date.isoformat(),
        "certainty": one.certainty,
        "batches": [batch_day(batch) for batch in one.batches],
    }


def batch_day(batch: BatchDay) -> Document:
    """One batch on one date: the record of `today` and of `plan`."""
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
        "reasons": [reason(why) for why in batch.reasons],
        "warnings": [reason(why) for why in batch.warnings],
        "strip": [_strip_hour(hour) for hour in batch.strip],
    }


def _night(night: NightAnswer) -> Document:
    return {
        "evening": night.evening.isoformat(),
        "morning": night.morning.isoformat(),
        "spot": night.spot,
        "forecast_low_c": number(night.forecast_low_c),
        "offset_c": number(night.offset_c),
        "offset_nights": night.offset_nights,
        "offset_regime": night.offset_regime,
        "air_low_c": number(night.air_low_c),
        "leaf_low_c": number(night.leaf_low_c),
        "low_1_in_10_c": number(night.low_1_in_10_c),
        "low_at": moment(night.low_at),
        "check_below_c": number(night.check_below_c),
        "harm_below_c": number(night.harm_below_c),
        "odds_check": number(night.odds_check),
        "odds_harm": number(night.odds_harm),
        "verdict": night.verdict,
        "decided_by": night.decided_by,
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


def watched(night: WatchedNight) -> Document:
    """One night of the cold watch."""
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
        "reasons": [reason(why) for why in one.reasons],
    }


def finish(end: Finish) -> Document:
    """When a batch is hardened and when it can be planted out."""
    return {
        "batch": end.batch,
        "hardened_on": {
            "earliest": calendar_date(end.earliest),
            "likely": calendar_date(end.likely),
            "latest": calendar_date(end.latest),
        },
        "plant_out": calendar_date(end.plant_out),
        "wait_until": calendar_date(end.wait_until),
        "reasons": [reason(why) for why in end.reasons],
        "criteria": [_criterion(each) for each in end.criteria],
        "good_enough": None if end.good_enough is None else _good_enough(end.good_enough),
        "missed": None if end.missed is None else _missed(end.missed),
        "odds": None if end.odds is None else _odds(end.odds),
    }


def _odds(odds: FinishOdds) -> Document:
    return {
        "members": odds.members,
        "half": _hardened_by(odds.half),
        "nine_in_ten": _hardened_by(odds.nine_in_ten),
        "ever": odds.ever,
        "looked_until": odds.looked_until.isoformat(),
        "apart_until": odds.apart_until.isoformat(),
    }


def _hardened_by(by: HardenedBy | None) -> Document | None:
    return None if by is None else {"on": by.on.isoformat(), "members": by.members}


def _missed(spell: Missed) -> Document:
    return {
        "days": spell.days,
        "level_before": number(spell.level_before),
        "level_now": number(spell.level_now),
        "finish_without": calendar_date(spell.finish_without),
        "finish_now": calendar_date(spell.finish_now),
    }


def _criterion(each: Criterion) -> Document:
    return {
        "code": each.code,
        "text": each.text,
        "value": number(each.value),
        "limit": number(each.limit),
        "unit": each.unit,
        "at_most": each.at_most,
        "met": each.met,
    }


def _good_enough(evening: GoodEnough) -> Document:
    return {
        "at": moment(evening.at),
        "missing": [_criterion(each) for each in evening.missing],
        "reason": None if evening.reason is None else reason(evening.reason),
    }


def change(moved: Change) -> Document:
    """What moved since the last run."""
    return {"batch": moved.batch, "what": moved.what, "was": moved.was, "now": moved.now, "why": moved.why}
