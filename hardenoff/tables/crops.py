"""Crops by key, name or alias, with the source of each of their values."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from hardenoff.records import Crop
from hardenoff.tables.rows import Value, read_rows, sourced

_HARDY_CLASSES = ("very_hardy", "frost_tolerant")


@dataclass(frozen=True, slots=True)
class EmergenceCell:
    """Days from sowing to emergence at one steady soil temperature; infinite = none came up."""

    soil_temperature_c: float
    days_least: float
    days_most: float
    mark: str
    source: str


@cache
def load_crops() -> dict[str, Crop]:
    """Every crop by its key, in the table's order."""
    return {row["crop"]: _crop(row, load_crop_values()[row["crop"]]) for row in read_rows("crops.csv")}


@cache
def load_crop_values() -> dict[str, dict[str, Value]]:
    """Crop key -> quantity -> value with unit, mark and source; also what no `Crop` holds (soil, set-out weeks).

    `set_out_weeks_*` count from the mean date of the last frost, negative before it; `germination_standard`
    is the least share of seed that must germinate; it is missing where no standard covers the crop.
    """
    values: dict[str, dict[str, Value]] = {}
    for row in read_rows("crop_values.csv"):
        values.setdefault(row["crop"], {})[row["quantity"]] = sourced(row)
    return values


@cache
def load_emergence() -> dict[str, tuple[EmergenceCell, ...]]:
    """Crop key -> days to emergence by soil temperature, coldest first; no key where nothing was published."""
    cells: dict[str, list[EmergenceCell]] = {}
    for row in read_rows("emergence.csv"):
        least, most = sourced(row, "days_least"), sourced(row, "days_most")
        cell = EmergenceCell(float(row["soil_temperature_c"]), least.value, most.value, least.mark, least.source)
        cells.setdefault(row["crop"], []).append(cell)
    return {crop: tuple(sorted(found, key=lambda cell: cell.soil_temperature_c)) for crop, found in cells.items()}


def find_crop(name: str) -> Crop | None:
    """The crop of that key, name or alias, whatever its capitals, hyphens and spaces; None if there is none."""
    key = _keys_by_word().get(_plain(name))
    return None if key is None else load_crops()[key]


def crop_names() -> tuple[str, ...]:
    """Every name and alias that `find_crop` knows, for a 'did you mean'."""
    return tuple(word for row in read_rows("crops.csv") for word in (row["name"], *_aliases(row)))


@cache
def _keys_by_word() -> dict[str, str]:
    return {
        _plain(word): row["crop"]
        for row in read_rows("crops.csv")
        for word in (row["crop"], row["name"], *_aliases(row))
    }


def _aliases(row: dict[str, str]) -> list[str]:
    return [alias for alias in row["aliases"].split(";") if alias]


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())


def _crop(row: dict[str, str], values: dict[str, Value]) -> Crop:
    def number(quantity: str) -> float:
        return values[quantity].value

    return Crop(
        key=row["crop"],
        name=row["name"],
        hardy=row["frost_class"] in _HARDY_CLASSES,
        weeks_to_transplant=(number("weeks_to_transplant_least"), number("weeks_to_transplant_most")),
        check_below_tender_c=number("check_below_tender"),
        check_below_hardened_c=number("check_below_hardened"),
        harm_below_tender_c=number("harm_below_tender"),
        harm_below_hardened_c=number("harm_below_hardened"),
        least_air_c=number("least_air"),
        heat_shade_c=number("heat_shade"),
        heat_in_c=number("heat_in"),
        sun_after_cold_night_c=number("sun_after_cold_night"),
        heavy_rain_mm_h=number("heavy_rain"),
        rule=row["rule"],
    )
