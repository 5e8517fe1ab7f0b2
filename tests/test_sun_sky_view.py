"""The view of the sky against closed forms, and the spot a little moved."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from sun_spots import (
    CARPORT,
    OAK,
    canopy,
    seen,
    spot,
)
from validation import compare, outside

from hardenoff.records import Roof, Spot, Tree, Wall
from hardenoff.sun.geometry import sky_view, variants
from hardenoff.sun.rays import skyline_height_deg

# --- the view of the sky ---------------------------------------------------------------------------


OKE = "Oke, *Boundary Layer Climates*, appendix A1.4 (from memory; Steyn 1980)"
HOWELL = "Howell 1982, *A Catalog of Radiation Configuration Factors*"
PROMISED = "what `sky_view` promises: so many rays, no more"


@pytest.mark.parametrize(("height", "view"), [(10, 0.9698), (20, 0.8830), (30, 0.7500), (45, 0.5000)])
@outside(f"{OKE}: cos^2 h", "sky view inside a horizon of even height h", within="0.002", because=PROMISED)
def test_view_inside_a_level_skyline(height: float, view: float) -> None:
    """A clearing in a wood."""
    compare(sky_view(spot(skyline=((0.0, height),))), view)


@pytest.mark.parametrize(
    ("height", "distance", "view"), [(2, 2, 0.8536), (2, 1, 0.7236), (5, 1, 0.5981), (2, 4, 0.9472)]
)
@outside(f"{OKE}: (1 + cos b) / 2", "sky view beside a long wall", within="0.002", because=PROMISED)
def test_view_beside_a_long_wall(height: float, distance: float, view: float) -> None:
    """With b the wall's height as an angle."""
    compare(sky_view(spot(walls=(Wall(37.0, distance, height),))), view)


@pytest.mark.parametrize(("opening", "view"), [(30, 0.0670), (45, 0.1464), (60, 0.2500), (63.43, 0.2764)])
@outside(
    "Hottel's crossed strings (from memory): (1 - cos b) / 2",
    "sky view from under an endless porch",
    within="0.002",
    because=PROMISED,
)
def test_view_from_a_long_porch(opening: float, view: float) -> None:
    """With b the opening's angle up to the roof's edge, the house behind."""
    compare(sky_view(spot(roof=canopy(math.tan(math.radians(opening)), 1.0, 130.0))), view)


@outside(
    "Hottel's crossed strings (from memory): (cos 10 - cos 60) / 2",
    "sky view from under an endless porch onto a long building",
    within="0.002",
    because=PROMISED,
)
def test_view_from_a_long_porch_onto_a_long_building() -> None:
    """The opening between the roof's edge and the roofs across the street."""
    across = Wall(130.0, 10.0, 10.0 * math.tan(math.radians(10.0)))
    compare(sky_view(spot(roof=canopy(math.tan(math.radians(60.0)), 1.0, 130.0), walls=(across,))), 0.2424)


@pytest.mark.parametrize(("side", "out", "above", "factor"), [(2, 3, 2.2, 0.147873), (1, 1, 1, 0.138532)])
@outside(
    f"{HOWELL}, B-3, a parallel rectangle (from memory)",
    "what a roof with its corner overhead takes of the sky",
    within="0.002",
    because=PROMISED,
)
def test_view_of_a_roof_with_its_corner_overhead(side: float, out: float, above: float, factor: float) -> None:
    """The element lies below the corner."""
    compare(1 - sky_view(spot(roof=Roof(above, out, 0.0, 0.0, side, 40.0, house=False))), factor)


@pytest.mark.parametrize(
    ("distance", "half_width", "factor"), [(2, 2, 0.1115), (1, 3, 0.2652)], ids=["two metres off", "one metre off"]
)
@outside(
    f"{HOWELL}, B-4, a perpendicular rectangle (from memory)",
    "what a short wall takes of the sky",
    within="0.002",
    because=PROMISED,
)
def test_view_of_a_short_wall(distance: float, half_width: float, factor: float) -> None:
    """Two metres high, the element before its foot's middle."""
    compare(1 - sky_view(spot(walls=(Wall(250.0, distance, 2.0, half_width, half_width),))), factor)


@outside(
    f"{HOWELL}, sums of B-3 and B-4 (from memory)",
    "sky view from under a porch of finite width",
    within="0.002",
    because=PROMISED,
)
def test_view_from_a_porch_of_finite_width() -> None:
    """Roof .3024 and wall .3709 leave .3267."""
    roof = Roof(2.2, 1.5, 0.5, 2.0, 2.0, 200.0, house=False)
    compare(sky_view(spot(roof=roof)), 1 - 0.3024)
    compare(sky_view(spot(roof=roof, walls=(Wall(20.0, 0.5, 2.2, 2.0, 2.0),))), 0.3267)


# --- the view of the sky by random rays ------------------------------------------------------------
# Nothing of the package: rays from the origin as vectors (x east, y north, z up), met with planes and prisms.

RAYS = 400_000


def random_rays(seed: int) -> np.ndarray:
    """Unit vectors over a level leaf, as many as their cosine weighs: points of a disc lifted to the dome."""
    turn, spread = np.random.default_rng(seed).random((2, RAYS))
    x, y = np.sqrt(spread) * np.cos(2 * np.pi * turn), np.sqrt(spread) * np.sin(2 * np.pi * turn)
    return np.stack([x, y, np.sqrt(1.0 - spread)])


def along(bearing_deg: float, rays: np.ndarray) -> np.ndarray:
    """How far each ray goes towards a bearing, a unit of its length."""
    angle = math.radians(bearing_deg)
    return math.sin(angle) * rays[0] + math.cos(angle) * rays[1]


def passing_rays(what: Spot, rays: np.ndarray) -> np.ndarray:
    """What each ray brings through roof, walls, skyline, crowns in leaf and layers."""
    passing = np.full(RAYS, what.shade)
    up = rays[2]
    if what.roof is not None:
        roof = what.roof
        out, right = (along(roof.open_to_deg + turn, rays) / up * roof.above_m for turn in (0.0, 90.0))
        over = (out > -roof.back_m) & (out < roof.front_m) & (right > -roof.left_m) & (right < roof.right_m)
        passing[over | (roof.house & (out < 0.0))] = 0.0
    for wall in what.walls:
        ahead, right = along(wall.towards_deg, rays), along(wall.towards_deg + 90.0, rays)
        left_m, right_m = (math.inf if end is None else end for end in (wall.left_m, wall.right_m))
        aside = np.divide(right * wall.distance_m, ahead, out=np.full(RAYS, np.nan), where=ahead > 0.0)
        low = up * wall.distance_m < wall.height_m * ahead
        passing[low & (aside > -left_m) & (aside < right_m)] = 0.0
    bearing = np.degrees(np.arctan2(rays[0], rays[1])) % 360.0
    height = np.degrees(np.arcsin(up))
    if what.skyline:
        corners, heights = zip(*what.skyline, strict=True)
        passing[height < np.interp(bearing, corners, heights, period=360.0)] = 0.0
    for tree in what.trees:
        wide = (tree.to_deg - tree.from_deg) % 360.0
        behind = ((bearing - tree.from_deg) % 360.0 < wide) & (height > tree.bottom_deg) & (height < tree.top_deg)
        passing[behind] *= tree.leafy
    return passing


def random_spot(random: np.random.Generator) -> Spot:
    """A roof with or without a house, two walls, a skyline, two trees and a cloth, each there or not."""

    def length() -> float:
        return float(random.uniform(0.2, 5.0))

    roof = Roof(*(length() for _ in range(5)), float(random.uniform(0, 360)), house=bool(random.random() < 0.5))
    walls = tuple(
        Wall(float(random.uniform(0, 360)), length(), length(), *random.choice([None, 1.0, 3.0], 2)) for _ in "ab"
    )
    corners = np.sort(random.uniform(0, 360, 5))
    skyline = tuple((float(corner), float(random.uniform(0, 40))) for corner in corners)
    trees = tuple(
        Tree(float(random.uniform(0, 360)), float(random.uniform(0, 360)), 5.0, 60.0, 0.2, 0.5, (4, 1), (11, 1))
        for _ in "ab"
    )
    kept = [part if random.random() < 0.6 else () for part in (walls, skyline, trees)]
    return spot(
        roof=roof if random.random() < 0.6 else None,
        walls=kept[0],
        skyline=kept[1],
        trees=kept[2],
        shade=float(random.choice([1.0, 0.5])),
    )


@pytest.mark.parametrize("seed", range(20))
@outside(
    "400 000 random rays a spot, met with planes as vectors",
    "sky view of spots with roofs, houses, walls, skylines, trees in leaf and shade cloth",
    within="0.005",
    because="0.002 that `sky_view` promises, and four standard deviations of so many rays, 0.0032 at most",
    kind="anew",
)
def test_view_by_random_rays(seed: int) -> None:
    """Monte Carlo, the same spots and rays every time."""
    what = random_spot(np.random.default_rng(1000 + seed))
    compare(sky_view(what, date(2027, 7, 1)), passing_rays(what, random_rays(seed)).mean())


def test_the_open_sky_is_one_and_layers_take_their_part() -> None:
    """Nothing in the way: 1; two layers of .5 and .7: 0.35 of it."""
    assert sky_view(spot()) == 1.0
    assert sky_view(spot(shade=0.35)) == pytest.approx(0.35)


def test_trees_are_part_of_the_sky() -> None:
    """A crown over a quarter of the compass from horizon to zenith: 1 - (1 - share) / 4, in leaf and bare."""
    tree = replace(OAK, from_deg=315.0, to_deg=45.0, top_deg=90.0)
    wood = spot(trees=(tree,))
    assert sky_view(wood, date(2027, 7, 1)) == pytest.approx(1 - 0.83 / 4, abs=0.002)
    assert sky_view(wood, date(2027, 1, 1)) == pytest.approx(1 - 0.50 / 4, abs=0.002)
    assert sky_view(wood) == sky_view(wood, date(2027, 1, 1))


def test_times_seen_never_make_a_night_look_safe() -> None:
    """Ours: sky never looked at counts as half open at least, a long day of sun as its share of the compass."""
    on = date(2027, 6, 1)
    assert sky_view(spot(sun_seen=(seen(on, "08:00", "10:00"),))) == 0.5
    assert sky_view(spot(sun_seen=(seen(on, "05:00", "12:00"), seen(on, "12:00", "20:00")))) == pytest.approx(
        0.625
    )
    assert sky_view(spot(sun_seen=(seen(on, "08:00", "10:00"),), shade=0.5)) == 0.25
    roofed = spot(sun_seen=(seen(on, "08:00", "10:00"),), roof=canopy(1.0, 1.0, 130.0))
    assert sky_view(roofed) == pytest.approx(0.1464, abs=0.002)


# --- the spot a little moved -----------------------------------------------------------------------


def test_variants_of_a_porch_with_a_wall() -> None:
    """Turned both ways as one; roof edge, roof height and the wall's distance moved by 0.2 m: eight in all."""
    moved = dict(variants(spot(roof=CARPORT, walls=(Wall(90.0, 2.0, 1.6),), skyline=((355.0, 3.0), (358.0, 9.0)))))
    assert len(moved) == 8
    assert len(set(moved.values())) == 8
    turned = moved["turned 10 degrees clockwise"]
    assert turned.roof is not None
    assert (turned.roof.open_to_deg, turned.walls[0].towards_deg) == (190.0, 100.0)
    assert turned.skyline == ((5.0, 3.0), (8.0, 9.0))
    higher = moved["roof 0.2 m higher"].roof
    assert higher is not None
    assert higher.above_m == pytest.approx(2.2)
    assert moved["wall at 90 degrees 0.2 m nearer"].walls[0].distance_m == pytest.approx(1.8)


def test_a_length_never_turns_negative() -> None:
    """A wall 0.1 m off comes nearer by 0.1 m, one at 0 m not at all."""
    near = dict(variants(spot(walls=(Wall(90.0, 0.1, 1.6),))))
    assert near["wall at 90 degrees 0.1 m nearer"].walls[0].distance_m == 0.0
    assert len(variants(spot(walls=(Wall(90.0, 0.0, 1.6),)))) == 3


def test_times_seen_are_shifted_by_the_suns_ten_degrees() -> None:
    """15 degrees an hour: 40 minutes either way, within the day; no variant opens the spot to the whole sky."""
    on = date(2027, 6, 1)
    labels = dict(variants(spot(sun_seen=(seen(on, "08:00", "10:00"), seen(on, "23:20", "23:50")))))
    assert labels["sun seen 40 minutes earlier"].sun_seen[0] == seen(on, "07:20", "09:20")
    assert labels["sun seen 40 minutes later"].sun_seen == (seen(on, "08:40", "10:40"),)
    assert [label for label, _ in variants(spot(sun_seen=(seen(on, "23:20", "23:50"),)))] == [
        "sun seen 40 minutes earlier"
    ]


def test_an_open_spot_has_no_variants() -> None:
    """Nothing was measured there; shade layers have no edge."""
    assert variants(spot(shade=0.5)) == ()


def test_a_turn_is_a_turn() -> None:
    """A skyline turned by 10 degrees shows at bearing b what it showed at b - 10, steps and seam included."""
    skyline = ((0.0, 10.0), (180.0, 10.0), (180.0, 30.0), (352.0, 5.0), (360.0, 30.0))
    turned = dict(variants(spot(skyline=skyline)))
    bearing = np.arange(0.25, 360.0, 0.5)
    for label, turn in (("clockwise", 10.0), ("anticlockwise", -10.0)):
        moved = turned[f"turned 10 degrees {label}"].skyline
        assert list(moved) == sorted(moved, key=lambda point: point[0])
        np.testing.assert_allclose(skyline_height_deg(moved, bearing), skyline_height_deg(skyline, bearing - turn))
