"""What was told, one frozen record each, and what of it stands: a correction is an entry of its own."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, get_args

Kind = Literal[
    "done", "out", "in", "longer", "damage", "watered", "low", "sun", "planted", "finished", "note", "undo"
]
"""As planned; out at a spot from-until; in all day; out longer until; damage seen; watered; a low measured in
the morning; sun seen from-until; planted out; finished (in for good, given away); a note; an entry undone."""
DamageKind = Literal["sun", "wind", "cold", "other"]

KINDS: tuple[Kind, ...] = get_args(Kind)
DAMAGE_KINDS: tuple[DamageKind, ...] = get_args(DamageKind)
NEEDED: Mapping[Kind, tuple[str, ...]] = {
    "out": ("spot", "start", "end"),
    "longer": ("end",),
    "damage": ("damage_kind",),
    "low": ("spot", "low_c"),
    "sun": ("spot", "start", "end"),
    "note": ("text",),
    "undo": ("corrects",),
}
"""The fields that an entry of a kind can't be without."""
KEYS = {"start": "from", "end": "until", "damage_kind": "damage"}
"""Fields that have another name where people read them."""

YEARS = range(1900, 2200)
ABSOLUTE_ZERO_C = -273.15
DAY_MINUTES = 24 * 60
_ID = re.compile(r"[0-9A-Za-z_-]{1,40}")
_NO_TEXT = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
"""Line breaks, control characters and halves of characters."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that was told. An entry that lacks what its kind needs can't be made: ValueError says what."""

    id: str
    written_at: datetime
    """Aware, as are `start` and `end`."""
    on: date
    """The local date it speaks of; for a low, that of its morning."""
    kind: Kind
    batch: str | None = None
    """None: all batches."""
    spot: str | None = None
    start: datetime | None = None
    end: datetime | None = None
    low_c: float | None = None
    damage_kind: DamageKind | None = None
    text: str | None = None
    minutes: int | None = None
    """How long the carrying took."""
    corrects: str | None = None
    """The id of the older entry that this one replaces or, as an `undo`, takes back."""
    forecast_low_c: float | None = None
    """With a low: what the forecast had for that night, before any offset of the spot."""
    cloud_frac: float | None = None
    wind_m_s: float | None = None
    """And its cloud and wind (at 10 m) over the coldest hours."""

    def __post_init__(self) -> None:
        needed = [KEYS.get(name, name) for name in NEEDED.get(self.kind, ()) if getattr(self, name) is None]
        moments = [moment for moment in (self.written_at, self.start, self.end) if moment is not None]
        texts = [text for text in (self.batch, self.spot, self.text, self.corrects) if text is not None]
        hold(self.kind in KINDS, f"{json.dumps(self.kind)} is no kind of entry")
        hold(not needed, f'"{self.kind}" needs {" and ".join(needed)}')
        hold(_ID.fullmatch(self.id) is not None, f"{json.dumps(self.id)} is no id")
        hold(self.corrects != self.id, "it corrects itself")
        hold(all(moment.tzinfo is not None for moment in moments), "a time has no offset")
        hold(all(day.year in YEARS for day in (self.on, *moments)), "a year is far off")
        hold(self.start is None or self.end is None or self.start < self.end, "it ends before it starts")
        hold(self.damage_kind in (None, *DAMAGE_KINDS), f"{json.dumps(self.damage_kind)} is no kind of damage")
        hold(self.low_c is None or ABSOLUTE_ZERO_C <= self.low_c < math.inf, "its low is no temperature")
        hold(
            self.forecast_low_c is None or ABSOLUTE_ZERO_C <= self.forecast_low_c < math.inf,
            "its forecast low is no temperature",
        )
        hold(self.cloud_frac is None or 0.0 <= self.cloud_frac <= 1.0, "its cloud is no share of the sky")
        hold(self.wind_m_s is None or 0.0 <= self.wind_m_s < math.inf, "its wind is no speed")
        hold(self.minutes is None or 0 <= self.minutes <= DAY_MINUTES, "its minutes are not those of a day")
        hold("" not in texts, "a text is empty")
        hold(not any(_NO_TEXT.search(text) for text in texts), "a text has a line break or a control character")


@dataclass(frozen=True, slots=True)
class Complaint:
    """A line of the file that can't be taken as it stands, numbered from 1."""

    line: int
    what: str


def hold(condition: bool, otherwise: str) -> None:
    """ValueError in these words, unless the condition holds."""
    if not condition:
        raise ValueError(otherwise)


# --- what stands -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fate:
    """What a later entry did to an older one."""

    how: Literal["replaced", "undone"]
    by: str
    """The id of the entry that did it."""


def fates(entries: Sequence[Entry]) -> tuple[Fate | None, ...]:
    """What became of each entry; None where it counts. Only a later entry can change an older one.

    An entry, its corrections and theirs are one family: its last member that was not taken back counts, and no
    other, so that nothing counts twice. An undo of an undo brings back what that had taken.
    """
    families = _families(entries)
    undone = _undone(entries)
    counts: dict[int, str] = {}
    found: list[Fate | None] = []
    for entry, family in reversed(list(zip(entries, families, strict=True))):
        if entry.id in undone:
            found.append(Fate("undone", undone[entry.id]))
        elif entry.kind == "undo" or family not in counts:
            found.append(None)
        else:
            found.append(Fate("replaced", counts[family]))
        if found[-1] is None and entry.kind != "undo":
            counts[family] = entry.id
    return tuple(reversed(found))


def standing(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries that count: a correction in the place of what it corrects, and nothing that was taken back."""
    told = zip(_families(entries), entries, fates(entries), strict=True)
    stand = [(family, entry) for family, entry, fate in told if fate is None and entry.kind != "undo"]
    return tuple(entry for _, entry in sorted(stand, key=lambda pair: pair[0]))


def _families(entries: Sequence[Entry]) -> list[int]:
    """Of each entry, where in the journal the first of its family stands."""
    there = {entry.id for entry in entries}
    of_id: dict[str, int] = {}
    found = []
    for number, entry in enumerate(entries):
        family = number if entry.corrects is None else of_id.get(entry.corrects, number)
        if entry.corrects is not None and entry.corrects not in there:
            of_id.setdefault(entry.corrects, family)  # corrections of a line that was lost are a family too
        of_id.setdefault(entry.id, family)
        found.append(family)
    return found


def _undone(entries: Sequence[Entry]) -> dict[str, str]:
    """Ids of what was taken back, and of the undo that did it."""
    first = {entry.id: number for number, entry in reversed(list(enumerate(entries)))}
    found: dict[str, str] = {}
    for number, entry in reversed(list(enumerate(entries))):
        is_undo = entry.kind == "undo" and entry.id not in found
        if is_undo and entry.corrects is not None and first.get(entry.corrects, number) < number:
            found.setdefault(entry.corrects, entry.id)
    return found
