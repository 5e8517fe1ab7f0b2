"""Batches: tables -> records, with crop and rule looked up and the batch's own crop values put in their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from hardenoff.garden.faults import Faults
from hardenoff.garden.schema import BatchTable, LampTable
from hardenoff.garden.source import KeyPath
from hardenoff.garden.spots import refuse_spot
from hardenoff.garden.values import closest
from hardenoff.records import (
    DEFAULT_LAMP,
    INSIDE,
    Background,
    Batch,
    Crop,
    HandState,
    InsideLight,
    Lamp,
    Rule,
)
from hardenoff.tables import crop_names, find_crop, load_crops, load_rules

RECORD_FIELDS = {
    "hardy": "hardy",
    "weeks_to_transplant": "weeks_to_transplant",
    "check_below": "check_below_tender_c",
    "check_below_hardened": "check_below_hardened_c",
    "harm_below": "harm_below_tender_c",
    "harm_below_hardened": "harm_below_hardened_c",
    "least_air": "least_air_c",
    "heat_shade": "heat_shade_c",
    "heat_in": "heat_in_c",
    "sun_after_cold_night": "sun_after_cold_night_c",
    "heavy_rain": "heavy_rain_mm_h",
}
"""Key of the garden file -> field of `records.Crop`."""

_ORDERED = (
    ("check_below_hardened", "check_below"),
    ("harm_below_hardened", "harm_below"),
    ("heat_shade", "heat_in"),
)
"""Pairs of keys whose first may not be warmer than the second."""


def build_batch(
    number: int, table: BatchTable, spots: Sequence[str], light: InsideLight, faults: Faults
) -> Batch | None:
    """The record of one batch; None, and its faults told, where something is wrong.

    `spots` are the names of all spots in the file, `light` is what they wait in inside.
    """
    where: KeyPath = ("batch", number)
    crop = _crop(table, where, faults)
    rule = _rule(table, crop, where, faults)
    _check_dates(table, where, faults)
    for key in ("plant_out_at", "waits"):
        name = getattr(table, key)
        if name is not None and name not in spots and not (key == "waits" and name == INSIDE):
            refuse_spot((*where, key), name, spots, faults)
    if crop is None or rule is None:
        return None
    lamp = _lamp(table, light)
    return Batch(
        name=table.name,
        crop=crop,
        rule=rule,
        plants=table.plants,
        trays=table.trays,
        sown=table.sown,
        container=table.container,
        lamp=lamp,
        plant_out_at=table.plant_out_at,
        start=table.start,
        state=_state(table),
        background=table.from_ or _background(lamp),
        nights=table.nights,
        waits=None if table.waits == INSIDE else table.waits,
        way=table.way,
    )


def _lamp(table: BatchTable, light: InsideLight) -> Lamp | None:
    """The batch's own lamp, or the common one where plants live under a lamp and no number is given."""
    if table.lamp is not None:
        return _own_lamp(table.lamp)
    return DEFAULT_LAMP if light == "lamp" or table.from_ == "lamp" else None


def _own_lamp(lamp: LampTable) -> Lamp:
    return Lamp(lamp.ppfd, lamp.hours, lamp.from_)


def _background(lamp: Lamp | None) -> Background:
    return "window" if lamp is None else "lamp"


def _state(table: BatchTable) -> HandState | None:
    state = table.state
    return HandState(state.on, state.air, state.sun, state.cold, state.light_mol) if state else None


def _check_dates(table: BatchTable, where: KeyPath, faults: Faults) -> None:
    """Nothing happens to a batch before it is sown. A date of sowing to come is no fault."""
    later: Sequence[tuple[str, date | None]] = (
        ("start", table.start),
        ("state", table.state.on if table.state else None),
    )
    for key, on in later:
        if table.sown is not None and on is not None and on < table.sown:
            faults.add(
                (*where, key),
                f"{on} is before the batch was sown ({table.sown})",
                f"a date on or after {table.sown}",
                "correct one of the two dates",
            )


# --- crop and rule ---------------------------------------------------------------------------------


def _crop(table: BatchTable, where: KeyPath, faults: Faults) -> Crop | None:
    crop = find_crop(table.crop)
    if crop is not None:
        return _own_values(crop, table, where, faults)
    meant = closest(table.crop, crop_names())
    known = "" if meant else f": {', '.join(crop.name for crop in load_crops().values())}"
    faults.add(
        (*where, "crop"),
        f'"{table.crop}" is not in the crop table',
        f"the name of a crop{known}",
        f'did you mean "{meant}"?' if meant else "take the nearest relative, and set its limits in the batch",
    )
    return None


def _rule(table: BatchTable, crop: Crop | None, where: KeyPath, faults: Faults) -> Rule | None:
    rules = load_rules()
    if table.rule is None:
        return rules[crop.rule] if crop else None
    by_name = {_plain(name): rule for rule in rules.values() for name in (rule.key, rule.title)}
    rule = by_name.get(_plain(table.rule))
    if rule is None:
        meant = closest(table.rule, rules)
        faults.add(
            (*where, "rule"),
            f'there is no ramp rule "{table.rule}"',
            f"one of {', '.join(rules)}",
            f'did you mean "{meant}"?' if meant else "leave the key out to use the crop's own rule",
        )
    return rule


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())


def _own_values(crop: Crop, table: BatchTable, where: KeyPath, faults: Faults) -> Crop:
    """The crop with the batch's own values. Of an ordered pair, the one not given follows the one that is."""
    own = {key: getattr(table, key) for key in RECORD_FIELDS if getattr(table, key) is not None}
    if "weeks_to_transplant" in own:
        own["weeks_to_transplant"] = _weeks(own["weeks_to_transplant"], crop, where, faults)
    for low, high in _ORDERED:
        _keep_order(low, high, own, crop, where, faults)
    return replace(crop, **{RECORD_FIELDS[key]: value for key, value in own.items()})


def _keep_order(low: str, high: str, own: dict[str, Any], crop: Crop, where: KeyPath, faults: Faults) -> None:
    least = own.get(low, getattr(crop, RECORD_FIELDS[low]))
    most = own.get(high, getattr(crop, RECORD_FIELDS[high]))
    if least <= most:
        return
    if low in own and high in own:
        faults.add(
            (*where, low), f"it is warmer than {high}", f"{low} at most as warm as {high}", "swap the two values"
        )
    elif high in own:
        own[low] = most
    else:
        own[high] = least


def _weeks(weeks: list[float], crop: Crop, where: KeyPath, faults: Faults) -> tuple[float, float]:
    if len(weeks) == 2 and weeks[0] <= weeks[1]:
        return weeks[0], weeks[1]
    faults.add(
        (*where, "weeks_to_transplant"),
        f"{weeks} are not least and most weeks",
        "two numbers of weeks, the smaller first, such as weeks_to_transplant = [6, 8]",
        "write the least and the most",
    )
    return crop.weeks_to_transplant
