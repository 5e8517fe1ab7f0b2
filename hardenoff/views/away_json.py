"""An absence as a JSON document, under the same rules as those of `as_json`."""

from __future__ import annotations

from hardenoff.schedule.away_records import AwayBatch, AwayComparison, AwayOption, SitterDay, SpotTried
from hardenoff.schedule.records import BatchNight
from hardenoff.views import json_parts as part
from hardenoff.views.away import span_text
from hardenoff.views.json_parts import Document


def away(comparison: AwayComparison) -> Document:
    """`hardenoff.away/1`."""
    return {
        "schema": "hardenoff.away/1",
        "now": part.moment(comparison.now),
        "date": comparison.now.date().isoformat(),
        "timezone": comparison.timezone,
        "place": comparison.place,
        "forecast": part.forecast_note(comparison.forecast),
        "from": comparison.first.isoformat(),
        "until": comparison.last.isoformat(),
        "sitter": [span_text(span) for span in comparison.sitter],
        "batches": [_batch(batch) for batch in comparison.batches],
        "stay_put": list(comparison.stay_put),
        "sheet": [_sitter_day(day) for day in comparison.sheet],
        "garden_line": comparison.garden_line,
    }


def _batch(batch: AwayBatch) -> Document:
    return {
        "batch": batch.batch,
        "crop": batch.crop,
        "trays": batch.trays,
        "hardened_at_home": part.calendar_date(batch.home),
        "hardened_before": batch.hardened_before,
        "best": batch.best,
        "options": [_option(option) for option in batch.options],
    }


def _option(option: AwayOption) -> Document:
    return {
        "way": option.way,
        "allowed": option.allowed,
        "hardened_on": part.calendar_date(option.hardened_on),
        "days_lost": option.days_lost,
        "moves": option.moves,
        "minutes": part.number(option.minutes),
        "nights_out": option.nights_out,
        "odds_harm": part.number(option.odds_harm),
        "worst_night": part.calendar_date(option.worst_night),
        "unknown_nights": [evening.isoformat() for evening in option.unknown_nights],
        "spot": option.spot,
        "put_at": part.moment(option.put_at),
        "fetch_at": part.moment(option.fetch_at),
        "spots": [_tried(spot) for spot in option.spots],
        "reasons": [part.reason(why) for why in option.reasons],
    }


def _tried(spot: SpotTried) -> Document:
    return {
        "spot": spot.spot,
        "holds": spot.holds,
        "failed_at": part.moment(spot.failed_at),
        "why": None if spot.why is None else part.reason(spot.why),
    }


def _sitter_day(day: SitterDay) -> Document:
    return {
        "date": day.date.isoformat(),
        "known": day.known,
        "moves": [part.move(move) for move in day.moves],
        "nights": [_night(one) for one in day.nights],
    }


def _night(one: BatchNight) -> Document:
    night = one.night
    outside = night.verdict in ("out", "cover")
    return {
        "batch": one.batch,
        "spot": night.spot if outside else None,
        "under_cover": night.verdict == "cover",
        "air_low_c": part.number(night.air_low_c),
        "check_below_c": part.number(night.check_below_c),
        "odds_harm": part.number(night.odds_harm),
    }
