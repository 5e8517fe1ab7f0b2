"""garden.toml -> Garden: every table read on its own, so that one fault hides no other."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from hardenoff.errors import GardenError, HardenoffError
from hardenoff.forecast import READERS
from hardenoff.forecast.reader import MEMBERS_HOST
from hardenoff.garden import schema
from hardenoff.garden.asked import keys
from hardenoff.garden.batches import build_batch
from hardenoff.garden.carer import build_carer
from hardenoff.garden.faults import Faults
from hardenoff.garden.source import KeyPath, Source, open_source, parse_source
from hardenoff.garden.spots import SpotEntry, build_spots, default_spots
from hardenoff.garden.values import closest, given
from hardenoff.garden.zones import closest_zone, is_zone
from hardenoff.records import INSIDE, Batch, Carer, ForecastSettings, Garden, Inside, Place, Risk, Spot
from hardenoff.tables import load_night_model

AnyTable = TypeVar("AnyTable", bound=schema.Table)


@dataclass(frozen=True, slots=True)
class Survey:
    """What could be read of a garden file, and what is wrong with it."""

    source: Source
    faults: tuple[HardenoffError, ...]
    """In the order of the file."""
    garden: Garden | None
    """Only what is right in it; None if the place is not. Whole if there are no faults."""


def read_garden(path: Path) -> Garden:
    """The garden a file describes.

    Raises
    ------
    GardenError
        With every fault of the file: each names file, line, table and key, what is expected, what to do.
    """
    return _whole(survey(path))


def garden_from_text(path: Path, text: str, *, is_written: bool = True) -> Garden:
    """The garden a text describes that is no file yet, or none of the grower's; `path` is its name in messages.

    Faults of a text that is not `is_written` anywhere name neither file nor line.
    """
    return _whole(_survey(parse_source(path, text, is_written=is_written)))


def survey(path: Path) -> Survey:
    """The garden and its faults side by side. GardenError if the file can't be opened or is no TOML."""
    return _survey(open_source(path))


def _whole(found: Survey) -> Garden:
    if found.faults or found.garden is None:
        raise GardenError(found.faults)
    return found.garden


def _survey(source: Source) -> Survey:
    faults = Faults(source)
    garden = _Reader(source, faults).garden()
    return Survey(source, faults.found(), garden)


class _Reader:
    """One pass over a parsed file."""

    def __init__(self, source: Source, faults: Faults) -> None:
        self.source = source
        self.faults = faults

    def garden(self) -> Garden | None:
        """Everything, read; None without a place. Whatever is wrong goes to `faults`."""
        place = self._place()
        inside = self._inside()
        spots, names = self._spots(place)
        batches = self._batches(names, inside)
        carer = self._carer()
        forecast, risk, daily = self._forecast(), self._risk(), self._climate()
        units = self._root()
        if place is None:
            return None
        return Garden(place, carer, inside, spots, batches, forecast, risk, units, daily)

    # --- tables ------------------------------------------------------------------------------------

    def _root(self) -> Any:
        headings = schema.TABLES
        plain = {key: value for key, value in self.source.data.items() if key not in headings}
        known = (*keys(schema.RootTable), *headings)
        for key in [key for key in plain if key not in known]:
            self.faults.add_unknown_key((key,), known)
            del plain[key]
        root = self.faults.table(schema.RootTable, plain, ())
        return root.units if root else "metric"

    def _place(self) -> Place | None:
        table = self._one("place", schema.PlaceTable)
        if table is None:
            if "place" not in self.source.data:
                self.faults.add(
                    ("place",),
                    "there is no [place]",
                    "where the garden is: latitude, longitude, timezone",
                    'add [place] with latitude = 40.01, longitude = -83.02, timezone = "America/New_York"',
                )
            return None
        if not is_zone(table.timezone):
            meant = closest_zone(table.timezone)
            self.faults.add(
                ("place", "timezone"),
                f'there is no time zone "{table.timezone}"',
                'a zone of the IANA list, region/city, such as "America/New_York" or "Europe/Berlin"',
                f'did you mean "{meant}"?' if meant else "write the largest city near you that shares your clock",
            )
            return None
        return Place(table.name, table.latitude, table.longitude, table.elevation, table.timezone)

    def _inside(self) -> Inside:
        table = self._one("inside", schema.InsideTable)
        return Inside(table.night, table.day, table.light) if table else Inside()

    def _carer(self) -> Carer:
        table = self._one("carer", schema.CarerTable)
        if table is None:
            return build_carer(schema.CarerTable())
        if "days" in table.model_fields_set and len(table.days) < len(self.source.data["carer"]["days"]):
            self.faults.add(
                ("carer", "days"),
                "a weekday is there twice",
                "each weekday once: mon, tue, wed, thu, fri, sat, sun",
                'put all its windows into one line, as in fri = ["06:30-07:40", "13:00-21:00"]',
            )
        return build_carer(table)

    def _spots(self, place: Place | None) -> tuple[tuple[Spot, ...], tuple[str, ...]]:
        """The spots, and the names of all spots in the file, also of those with faults."""
        if not self.source.data.get("spot"):
            spots = default_spots(place.latitude if place else 0.0)
            return spots, tuple(spot.name for spot in spots)
        names = self._names("spot")
        entries = []
        for number, raw in self._entries("spot"):
            table = self.faults.table(schema.SpotTable, raw, ("spot", number))
            if table is None:
                continue
            if self._is_first_of_its_name("spot", number):
                entries.append(SpotEntry(number, table))
            else:  # for its other faults
                build_spots([SpotEntry(number, table)], names, place, self.faults)
        return build_spots(entries, names, place, self.faults), names

    def _batches(self, spots: tuple[str, ...], inside: Inside) -> tuple[Batch, ...]:
        if not self.source.data.get("batch"):
            self.faults.add(
                ("batch",),
                "there is no [[batch]]",
                "at least one batch of plants: name and crop",
                'add [[batch]] with name = "peppers", crop = "sweet pepper"',
            )
        batches = []
        for number, raw in self._entries("batch"):
            table = self.faults.table(schema.BatchTable, raw, ("batch", number))
            if table is None:
                continue
            batch = build_batch(number, table, spots, inside.light, self.faults)  # for its faults, in any case
            if self._is_first_of_its_name("batch", number) and batch is not None:
                batches.append(batch)
        return tuple(batches)

    def _forecast(self) -> ForecastSettings:
        table = self._one("forecast", schema.ForecastTable)
        if table is None:
            return ForecastSettings()
        for n, name in enumerate(table.sources):
            self._check_source(("forecast", "sources", n), name)
        for name in table.base_url:
            if name != MEMBERS_HOST:
                self._check_source(("forecast", "base_url", name), name)
        return ForecastSettings(tuple(table.sources), table.contact, table.base_url, table.exact_place)

    def _check_source(self, where: KeyPath, name: str) -> None:
        if name in READERS:
            return
        known = tuple(READERS)
        meant = closest(name, known)
        self.faults.add(
            where,
            f'there is no forecast source "{name}"',
            f"one of {', '.join(known)}",
            f'did you mean "{meant}"?' if meant else "remove it",
        )

    def _risk(self) -> Risk:
        table = self._one("risk", schema.RiskTable)
        return Risk(table.last_frost, self._check_odds(table), table.harm) if table else Risk()

    def _check_odds(self, table: schema.RiskTable) -> float:
        """As written, or what an evening is worth; the two say the same, and can't both be there."""
        if table.evening_of_carrying is None:
            return table.check
        if "check" in table.model_fields_set:
            self.faults.add(
                ("risk", "evening_of_carrying"),
                "check is there as well, and both say when a cold night is worth the carrying",
                "one of the two",
                "remove check, or evening_of_carrying",
            )
        return load_night_model().carrying[table.evening_of_carrying]

    def _climate(self) -> str | None:
        table = self._one("climate", schema.ClimateTable)
        if table is None or table.daily is None:
            return None
        path = self.source.path.parent / table.daily
        if not os.path.isfile(path):
            self.faults.add(
                ("climate", "daily"),
                f"there is no file {path}",
                "a CSV file with the heading date,min_c, beside the garden file",
                "correct the name, or remove the line to use the archive",
            )
        return str(path)

    # --- how tables come ---------------------------------------------------------------------------

    def _one(self, heading: str, model: type[AnyTable]) -> AnyTable | None:
        """A table that comes once; None if it is not there or wrong."""
        raw = self.source.data.get(heading)
        if raw is None:
            return None
        if not isinstance(raw, dict):
            twice = isinstance(raw, list)
            self.faults.add(
                (heading,),
                f"[[{heading}]] has two brackets" if twice else f"{given(raw)} is no table",
                f"one heading [{heading}] with its keys below",
                f"write [{heading}]",
            )
            return None
        return self.faults.table(model, raw, (heading,))

    def _entries(self, heading: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
        """The tables of a heading that comes as often as needed, numbered as in the file."""
        raw = self.source.data.get(heading, [])
        if not isinstance(raw, list) or not all(isinstance(entry, dict) for entry in raw):
            single = isinstance(raw, dict)
            self.faults.add(
                (heading,),
                f"[{heading}] has one bracket" if single else f"{given(raw)} is no list of tables",
                f"a heading with two brackets for each {heading}: [[{heading}]]",
                f"write [[{heading}]]",
            )
            raw = [raw] if single else []
        yield from enumerate(raw)

    def _names(self, heading: str) -> tuple[str, ...]:
        raw = self.source.data.get(heading, [])
        entries = raw if isinstance(raw, list) else [raw]
        names = (entry.get("name") for entry in entries if isinstance(entry, dict))
        plain = (name.strip() for name in names if isinstance(name, str))
        return tuple(dict.fromkeys(name for name in plain if name.casefold() != INSIDE))

    def _is_first_of_its_name(self, heading: str, number: int) -> bool:
        """Whether a name is new in the file; a fault if it is taken, or is the room's."""
        entries = self.source.data[heading]
        entries = entries if isinstance(entries, list) else [entries]
        plain = [str(entry.get("name", "")).strip().casefold() for entry in entries]
        where = (heading, number, "name")
        if heading == "spot" and plain[number] == INSIDE:
            self.faults.add(
                where,
                '"inside" is always there: the room where they wait',
                "the name of an outdoor spot",
                "rename the spot, or describe the room under [inside]",
            )
            return False
        if plain[number] in plain[:number]:
            first = self.source.line((heading, plain.index(plain[number])))
            self.faults.add(
                where,
                f"this name is taken (line {first})",
                f"a name of its own for each {heading}; capitals make no difference",
                "rename one of the two",
            )
            return False
        return True
