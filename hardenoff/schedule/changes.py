"""What moved since the last run, and why: a kept run held against the present one.

A run keeps little: of each batch its level, its finish, and each day's outing and night in words; beside them a
fingerprint of every input. A line is said only where one of these differs, and names the input that moved.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from hardenoff.dates import short_day
from hardenoff.errors import UnreadableError
from hardenoff.schedule.records import SURE_DAYS, BatchDay, Change, Schedule

SCHEMA = "hardenoff.kept/1"
LEVEL_MOVED = 0.05
"""Ramp-days by which a level must differ to be worth a line."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """Fingerprints of what a run was made from."""

    forecast: str
    garden: str
    journal: str


@dataclass(frozen=True, slots=True)
class KeptBatch:
    """Of one batch: its finish, and by ISO date its level, its outing and its night."""

    hardened: str | None
    plant_out: str | None
    levels: Mapping[str, float]
    outings: Mapping[str, str]
    nights: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Kept:
    """One run, as it is kept."""

    made_on: str
    inputs: Inputs
    batches: Mapping[str, KeptBatch]


def keep(schedule: Schedule, inputs: Inputs) -> Kept:
    """What is kept of a run."""
    finishes = {finish.batch: finish for finish in schedule.finishes}
    batches = {}
    for number, batch in enumerate(schedule.days[0].batches):
        days = {day.date.isoformat(): day.batches[number] for day in schedule.days if day.certainty != "beyond"}
        finish = finishes.get(batch.batch)
        batches[batch.batch] = KeptBatch(
            hardened=None if finish is None else _iso(finish.earliest),
            plant_out=None if finish is None else _iso(finish.plant_out),
            levels={on: round(day.state.ramp_days, 2) for on, day in days.items()},
            outings={on: _outing(day) for on, day in days.items()},
            nights={on: day.night.verdict for on, day in days.items() if day.night is not None},
        )
    return Kept(schedule.date.isoformat(), inputs, batches)


def changes(before: Kept, schedule: Schedule, inputs: Inputs) -> tuple[Change, ...]:
    """One line for each thing that moved; none where nothing did."""
    present = keep(schedule, inputs)
    why = _why(before.inputs, inputs)
    if why is None:
        return ()
    return tuple(
        Change(name, what, was, now, why)
        for name, batch in present.batches.items()
        if name in before.batches
        for what, was, now in _moved(before.batches[name], batch, present.made_on)
    )


def _moved(before: KeptBatch, now: KeptBatch, today: str) -> Iterator[tuple[str, str, str]]:
    level = before.levels.get(today)
    if level is not None and abs(level - now.levels[today]) > LEVEL_MOVED:
        yield "level", f"{level:.1f}", f"{now.levels[today]:.1f}"
    outing = before.outings.get(today)
    if outing is not None and outing != now.outings[today]:
        yield "today", outing, now.outings[today]
    for on in sorted(now.nights)[:SURE_DAYS]:
        if before.nights.get(on, now.nights[on]) != now.nights[on]:
            yield f"night of {_day(on)}", before.nights[on], now.nights[on]
    if before.hardened != now.hardened:
        yield "hardened", _day(before.hardened), _day(now.hardened)
    if before.plant_out != now.plant_out:
        yield "plant-out", _day(before.plant_out), _day(now.plant_out)


def _why(before: Inputs, now: Inputs) -> str | None:
    moved = [
        said
        for said, was, is_now in (
            ("forecast revised", before.forecast, now.forecast),
            ("journal", before.journal, now.journal),
            ("garden file", before.garden, now.garden),
        )
        if was != is_now
    ]
    return " and ".join(moved) or None


def _outing(day: BatchDay) -> str:
    """A day's outing in a line: '07:15 carport, until 18:00', or its verdict."""
    if not day.placements:
        return day.verdict or "open"
    stays = [f"{place.start:%H:%M} {place.spot}" for place in day.placements]
    return f"{', '.join(stays)}, until {day.placements[-1].end:%H:%M}"


def _iso(on: date | None) -> str | None:
    return None if on is None else on.isoformat()


def _day(iso: str | None) -> str:
    return "not known" if iso is None else short_day(date.fromisoformat(iso))


# --- as a document -----------------------------------------------------------------------------------


def to_document(kept: Kept) -> dict[str, Any]:
    """A kept run as plain JSON values."""
    return {"schema": SCHEMA, **asdict(kept)}


def from_document(document: Mapping[str, Any]) -> Kept:
    """A kept run read back.

    Raises
    ------
    UnreadableError
        It is of another schema, or not whole.
    """
    try:
        if document["schema"] != SCHEMA:
            raise KeyError("schema")
        batches = {name: KeptBatch(**batch) for name, batch in document["batches"].items()}
        return Kept(document["made_on"], Inputs(**document["inputs"]), batches)
    except (KeyError, TypeError, AttributeError) as fault:
        raise UnreadableError(
            f"the kept run can't be read: {fault}",
            f"a document with schema {SCHEMA}",
            "nothing: the next run keeps a new one",
        ) from fault
