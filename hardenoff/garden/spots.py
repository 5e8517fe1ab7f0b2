"""Spots: tables -> records, with skyline files read, `like` followed, and two spots for a file that has none."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from math import prod

from hardenoff.errors import HardenoffError
from hardenoff.garden.faults import Faults
from hardenoff.garden.schema import RoofTable, ShelterTable, SpotTable, TreeTable, WallTable
from hardenoff.garden.skyline import Points, in_order, read_skyline
from hardenoff.garden.source import KeyPath
from hardenoff.garden.values import WrongValue, closest
from hardenoff.records import Place, Roof, ShelterArc, Spot, SunSeen, Tree, Wall

_ALL_YEAR = ((1, 1), (12, 31))


def default_spots(latitude: float) -> tuple[Spot, Spot]:
    """The two spots of a garden that names none: a porch that no direct sun reaches, and the open (ours).

    The porch opens towards the nearer pole between two walls, so that neither the noon sun of the tropics nor the
    early and late sun of summer comes in below 65 degrees of latitude.
    """
    shade = Spot(
        "shade",
        roof=Roof(
            2.2, front_m=1.5, back_m=1.5, left_m=1.5, right_m=1.5, open_to_deg=0.0 if latitude >= 0 else 180.0
        ),
        walls=tuple(Wall(towards_deg=bearing, distance_m=1.5, height_m=3.0) for bearing in (90.0, 270.0)),
        shelter=(ShelterArc(0.0, 360.0, 0.4),),
    )
    return shade, Spot("open")


@dataclass(frozen=True, slots=True)
class SpotEntry:
    """A spot's table that is right in itself, and its number in the file."""

    number: int
    table: SpotTable

    @property
    def where(self) -> KeyPath:
        """Its place in the file."""
        return ("spot", self.number)


def build_spots(
    entries: Sequence[SpotEntry], names: Sequence[str], place: Place | None, faults: Faults
) -> tuple[Spot, ...]:
    """The outdoor spots in the file's order; what is wrong with them goes to `faults`.

    `names` are those of all spots in the file, also of the ones with faults. Without a `place` (wrong itself)
    times seen can't be held against the sun.
    """
    tables = {entry.table.name: entry for entry in entries}
    own = {entry.table.name: _own(entry, place, faults) for entry in entries}
    bases = {name: base for name, entry in tables.items() if (base := _base(entry, names, faults)) in own}
    _refuse_circles(bases, tables, faults)

    def resolved(name: str, seen: tuple[str, ...] = ()) -> Spot:
        base = bases.get(name)
        if base is None or base in seen:
            return own[name]
        return _beside(resolved(base, (*seen, name)), own[name], tables[name].table.model_fields_set)

    return tuple(resolved(entry.table.name) for entry in entries)


# --- one spot --------------------------------------------------------------------------------------


def _own(entry: SpotEntry, place: Place | None, faults: Faults) -> Spot:
    """What a spot's own table says."""
    table, where = entry.table, entry.where
    _check_trees(table.trees, where, faults)
    _check_arcs(table.shelter or [], where, faults)
    return Spot(
        name=table.name,
        roof=_roof(table.roof) if table.roof else None,
        walls=tuple(_wall(wall) for wall in table.walls),
        trees=tuple(_tree(tree) for tree in table.trees),
        skyline=_skyline(table, where, faults),
        sun_seen=_sun_seen(table, where, place, faults),
        shade=prod(table.shade, start=1.0),
        shelter=tuple(ShelterArc(arc.from_, arc.to, arc.share) for arc in table.shelter or []),
        holds=table.holds,
        colder_c=table.colder if table.colder is not None else 0.0,
        cover_c=table.cover,
        like=None,
    )


def _roof(roof: RoofTable) -> Roof:
    return Roof(roof.above, roof.front, roof.back, roof.left, roof.right, roof.open_to % 360, roof.house)


def _wall(wall: WallTable) -> Wall:
    return Wall(wall.towards % 360, wall.distance, wall.height, wall.left, wall.right)


def _tree(tree: TreeTable) -> Tree:
    bare = tree.leafy if tree.bare is None else tree.bare
    out, fall = tree.leaf_out or _ALL_YEAR[0], tree.leaf_fall or _ALL_YEAR[1]
    return Tree(tree.from_, tree.to, tree.bottom, tree.top, tree.leafy, bare, out, fall)


def _check_trees(trees: Sequence[TreeTable], where: KeyPath, faults: Faults) -> None:
    for n, tree in enumerate(trees):
        at = (*where, "trees", n)
        if tree.top <= tree.bottom:
            faults.add(
                (*at, "top"),
                f"top {tree.top:g} is not above bottom {tree.bottom:g}",
                "angles above the horizontal in degrees, bottom less than top",
                "swap the two, or measure the crown again",
            )
        if tree.from_ == tree.to:
            faults.add_value(at, _no_width(tree.from_))
        if tree.bare is not None and (tree.leaf_out is None or tree.leaf_fall is None):
            faults.add(
                at,
                "it has a bare crown, but not when it comes into leaf and loses it",
                'leaf_out and leaf_fall as "mm-dd"',
                'add leaf_out = "05-01", leaf_fall = "11-01", or leave out bare if it is evergreen',
            )


def _check_arcs(arcs: Sequence[ShelterTable], where: KeyPath, faults: Faults) -> None:
    for n, arc in enumerate(arcs):
        if arc.from_ == arc.to:
            faults.add_value((*where, "shelter", n), _no_width(arc.from_))


def _no_width(bearing: float) -> WrongValue:
    return WrongValue(
        f"from {bearing:g} to {bearing:g} covers no bearing",
        "two bearings, clockwise from the first to the second",
        "write from = 0, to = 360 for the whole compass",
    )


def _skyline(table: SpotTable, where: KeyPath, faults: Faults) -> Points:
    if table.skyline and table.skyline_file is not None:
        faults.add(
            (*where, "skyline_file"),
            "the spot has skyline and skyline_file",
            "one of the two",
            "remove the one that is out of date",
        )
        return ()
    key = "skyline" if table.skyline_file is None else "skyline_file"
    try:
        if table.skyline_file is None:
            return in_order(table.skyline)
        return in_order(read_skyline(faults.source.path.parent / table.skyline_file))
    except WrongValue as error:
        faults.add_value((*where, key), error)
        return ()


def _sun_seen(table: SpotTable, where: KeyPath, place: Place | None, faults: Faults) -> tuple[SunSeen, ...]:
    """Times seen, held against the sun; those of one date that overlap are made one."""
    times = []
    for n, entry in enumerate(table.sun_seen):
        seen = SunSeen(entry.on, entry.from_, entry.until)
        fault = _wrong_time(seen, place, table.name)
        if fault:
            faults.add((*where, "sun_seen", n), fault.what, fault.expected, fault.fix)
        times.append(seen)
    return _joined(times)


def _wrong_time(seen: SunSeen, place: Place | None, spot: str) -> HardenoffError | None:
    """A time that runs backwards (past midnight is right in polar summer), or with the sun below the horizon."""
    told = f"{seen.on} from {seen.start:%H:%M} until {seen.end:%H:%M}"
    down = _below_horizon(seen, place, spot)
    if seen.end <= seen.start and (place is None or down or seen.end == seen.start):
        return WrongValue(f"{told} ends before it starts", "until later than from", "swap the two times")
    if down:
        return WrongValue(f"{told}: the sun is below the horizon then", down.expected, down.fix)
    return None


def _below_horizon(seen: SunSeen, place: Place | None, spot: str) -> HardenoffError | None:
    if place is None:
        return None
    from hardenoff.sun.geometry import seen_faults  # loads pandas and pvlib

    return next(iter(seen_faults(Spot(spot, sun_seen=(seen,)), place)), None)


def _joined(times: Sequence[SunSeen]) -> tuple[SunSeen, ...]:
    joined: list[SunSeen] = []
    for seen in sorted(times, key=lambda seen: (seen.on, seen.start)):
        last = joined[-1] if joined else None
        if (
            last
            and last.on == seen.on
            and last.start < last.end
            and seen.start <= last.end
            and seen.start < seen.end
        ):
            joined[-1] = SunSeen(seen.on, last.start, max(last.end, seen.end))
        else:
            joined.append(seen)
    return tuple(joined)


# --- like ------------------------------------------------------------------------------------------


def _base(entry: SpotEntry, names: Sequence[str], faults: Faults) -> str | None:
    """The name of the spot that this one is like; None if there is none of that name."""
    like = entry.table.like
    if like is not None and like not in names:
        refuse_spot((*entry.where, "like"), like, [name for name in names if name != entry.table.name], faults)
        return None
    return like


def _refuse_circles(bases: dict[str, str], tables: dict[str, SpotEntry], faults: Faults) -> None:
    """One fault for each circle of `like`, at the first of its spots in the file."""
    told: set[str] = set()
    for name in bases:
        chain = [name]
        while (base := bases.get(chain[-1])) is not None and base not in chain:
            chain.append(base)
        if base != name or name in told:
            continue
        told.update(chain)
        circle = " is like ".join(f'"{spot}"' for spot in (*chain, name))
        faults.add(
            (*tables[name].where, "like"),
            f"{circle}: no spot of them has a geometry of its own",
            "a spot that says itself where it stands",
            "give one of them its roof, walls, skyline or sun_seen, and remove its like",
        )


def _beside(base: Spot, own: Spot, given: AbstractSet[str]) -> Spot:
    """A spot at another's place: the same geometry, wind, cold and room where its own table is silent.

    Shade layers come on top of the base's. A cover does not go with the place: it must be named again.
    """
    skyline = own.skyline if given & {"skyline", "skyline_file"} else base.skyline
    return replace(
        own,
        roof=own.roof if "roof" in given else base.roof,
        walls=own.walls if "walls" in given else base.walls,
        trees=own.trees if "trees" in given else base.trees,
        skyline=skyline,
        sun_seen=own.sun_seen if "sun_seen" in given else base.sun_seen,
        shade=own.shade * base.shade,
        shelter=own.shelter if "shelter" in given else base.shelter,
        colder_c=own.colder_c if "colder" in given else base.colder_c,
        holds=own.holds if "holds" in given else base.holds,
        like=base.like or base.name,
    )


def refuse_spot(where: KeyPath, name: str, names: Sequence[str], faults: Faults) -> None:
    """A key names a spot that isn't there."""
    listed = ", ".join(f'"{known}"' for known in names) or "none"
    meant = closest(name, names)
    fix = f'did you mean "{meant}"?' if meant else "correct the name, or add a [[spot]] of that name"
    faults.add(where, f'there is no spot "{name}"', f"the name of an outdoor spot ({listed})", fix)
