"""The schedule as JSON documents for programs: stable keys, SI units, ISO times with offset, never NaN.

`hardenoff/schemas/` holds the published JSON Schema of each document; `schema` in a document names it.
A later version may add keys; it takes none away without a new number.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from hardenoff.journal.entries import Entry, Fate
from hardenoff.journal.text import record
from hardenoff.records import Batch
from hardenoff.schedule.records import ForecastNote, Reason, Schedule
from hardenoff.views import json_parts as part
from hardenoff.views.checked import Checked
from hardenoff.views.json_parts import Document

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast
    from hardenoff.sun.windows import SunDay, SunWindow
    from hardenoff.views.log import Listing


def dumps(document: Mapping[str, Any]) -> str:
    """A document as ASCII text that ends in a line break, so that no terminal's encoding can harm a name.

    ValueError if a NaN has slipped through.
    """
    return json.dumps(document, indent=2, allow_nan=False) + "\n"


# --- documents -------------------------------------------------------------------------------------


def today(schedule: Schedule) -> Document:
    """`hardenoff.today/1`."""
    return {
        "schema": "hardenoff.today/1",
        **_head(schedule),
        "moves": [part.move(move) for move in schedule.moves],
        "carrying_minutes": part.number(schedule.carrying_minutes),
        "batches": [part.batch_day(batch) for batch in schedule.days[0].batches],
    }


def tonight(schedule: Schedule) -> Document:
    """`hardenoff.tonight/1`."""
    return {
        "schema": "hardenoff.tonight/1",
        **_head(schedule),
        "nights": [part.watched(night) for night in schedule.nights],
    }


def plan(schedule: Schedule) -> Document:
    """`hardenoff.plan/1`."""
    return {
        "schema": "hardenoff.plan/1",
        **_head(schedule),
        "days": [part.day(one) for one in schedule.days],
        "batches": [part.finish(finish) for finish in schedule.finishes],
        "changes": [part.change(change) for change in schedule.changes],
    }


def _head(schedule: Schedule) -> Document:
    return {
        "now": part.moment(schedule.now),
        "date": schedule.date.isoformat(),
        "timezone": schedule.timezone,
        "place": schedule.place,
        "forecast": part.forecast_note(schedule.forecast),
    }


def sun(day: SunDay, band: Sequence[tuple[str, float]], timezone: str) -> Document:
    """`hardenoff.sun/1` of one date, with the hours for each way the spot may have been measured wrongly."""
    return {
        "schema": "hardenoff.sun/1",
        "timezone": timezone,
        **_sun_day(day),
        "band": [{"if": label, "direct_sun_hours": part.number(hours)} for label, hours in band],
    }


def sun_season(days: Sequence[SunDay], timezone: str) -> Document:
    """`hardenoff.sun/1` of a season: the same for each date, in `days`."""
    return {
        "schema": "hardenoff.sun/1",
        "timezone": timezone,
        "spot": days[0].spot,
        "days": [_sun_day(day) for day in days],
    }


def _sun_day(day: SunDay) -> Document:
    return {
        "spot": day.spot,
        "date": day.date.isoformat(),
        "windows": [_window(window) for window in day.windows],
        "direct_sun_hours": part.number(day.direct_sun_hours),
        "sky_view_factor": part.number(day.sky_view_factor),
        "warnings": [part.reason(Reason("sun_seen_far", warning)) for warning in day.warnings],
    }


def _window(window: SunWindow) -> Document:
    return {
        "from": part.moment(window.start),
        "until": part.moment(window.end),
        "share": part.number(window.share),
    }


def check(path: str, found: Checked) -> Document:
    """`hardenoff.check/1`: every fault, what would help, and what the garden file holds."""
    garden = found.garden
    return {
        "schema": "hardenoff.check/1",
        "garden": path,
        "ok": not found.faults,
        "faults": [{"what": fault.what, "expected": fault.expected, "fix": fault.fix} for fault in found.faults],
        "advice": [{"code": one.code, "what": one.what, "why": one.why, "fix": one.fix} for one in found.advice],
        "place": garden.place.name if garden else None,
        "timezone": garden.place.timezone if garden else None,
        "spots": [spot.name for spot in garden.spots] if garden else [],
        "batches": [_batch(batch) for batch in garden.batches] if garden else [],
    }


def _batch(batch: Batch) -> Document:
    return {"batch": batch.name, "crop": batch.crop.name, "rule": batch.rule.key, "trays": batch.trays}


def log(listing: Listing) -> Document:
    """`hardenoff.log/1`: entries of the journal, and its lines that are not as they should be."""
    return {
        "schema": "hardenoff.log/1",
        "journal": listing.file,
        "timezone": listing.timezone,
        "entries": [_entry(entry, fate) for entry, fate in listing.entries],
        "complaints": [{"line": complaint.line, "what": complaint.what} for complaint in listing.complaints],
    }


def _entry(entry: Entry, fate: Fate | None) -> Document:
    by = None if fate is None else fate.by
    return {**record(entry), "status": "counts" if fate is None else fate.how, "by": by}


def hours(forecast: Forecast, note: ForecastNote, timezone: str) -> Document:
    """`hardenoff.hours/1`: the hours as read, in UTC, unknown values null."""
    origin = forecast.origin
    frame = forecast.hours
    return {
        "schema": "hardenoff.hours/1",
        "timezone": timezone,
        "forecast": part.forecast_note(note),
        "latitude": part.number(origin.latitude),
        "longitude": part.number(origin.longitude),
        "elevation_m": part.number(origin.elevation_m),
        "estimated": list(origin.estimated),
        "missing_hours": {str(column): int(count) for column, count in frame.isna().sum().items()},
        "hours": [
            {"time": at.isoformat(), **{column: part.number(float(row[column])) for column in frame.columns}}
            for at, row in zip(frame.index, frame.to_dict("records"), strict=True)
        ],
        "block_lows": [
            {"start": low["start"].isoformat(), "end": low["end"].isoformat(), "min_c": part.number(low["min_c"])}
            for low in forecast.block_lows.to_dict("records")
        ],
    }
