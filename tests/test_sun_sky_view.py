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

from hardenoff.records import Roof, Wall
from hardenoff.sun.geometry import sky_view, variants
from hardenoff.sun.rays import skyline_height_deg

# --- the view of the sky ---------------------------------------------------------------------------


@pytest.mark.parametrize(("height", "view"), [(10, 0.9698), (20, 0.8830), (30, 0.7500), (45, 0.5000)])
def test_view_inside_a_level_skyline(height: float, view: float) -> None:
    """cos^2 h for a horizon of even height h (Oke, *Boundary Layer Climates*, from memory; Steyn 1980)."""
    assert sky_view(spot(skyline=((0.0, height),))) == pytest.approx(view, abs=0.002)


@pytest.mark.parametrize(
    ("height", "distance", "view"), [(2, 2, 0.8536), (2, 1, 0.7236), (5, 1, 0.5981), (2, 4, 0.9472)]
)
def test_view_beside_a_long_wall(height: float, distance: float, view: float) -> None:
    """(1 + cos b) / 2 with b the wall's height as an angle (Oke, *Boundary Layer Climates*, from memory)."""
    assert sky_view(spot(walls=(Wall(37.0, distance, height),))) == pytest.approx(view, abs=0.002)


@pytest.mark.parametrize(("opening", "view"), [(30, 0.0670), (45, 0.1464), (60, 0.2500), (63.43, 0.2764)])
def test_view_from_a_long_porch(opening: float, view: float) -> None:
    """(1 - cos b) / 2 with b the opening's angle up to the roof's edge, the house behind (crossed strings)."""
    roof = canopy(math.tan(math.radians(opening)), 1.0, 130.0)
    assert sky_view(spot(roof=roof)) == pytest.approx(view, abs=0.002)


def test_view_from_a_long_porch_onto_a_long_building() -> None:
    """(cos 10 - cos 60) / 2 = .2424: the opening between roof edge and the roofs across the street."""
    across = Wall(130.0, 10.0, 10.0 * math.tan(math.radians(10.0)))
    porch = spot(roof=canopy(math.tan(math.radians(60.0)), 1.0, 130.0), walls=(across,))
    assert sky_view(porch) == pytest.approx(0.2424, abs=0.002)


@pytest.mark.parametrize(("side", "out", "above", "factor"), [(2, 3, 2.2, 0.147873), (1, 1, 1, 0.138532)])
def test_view_of_a_roof_with_its_corner_overhead(side: float, out: float, above: float, factor: float) -> None:
    """Parallel rectangle, element below its corner: Howell, *Radiation Factors*, B-3 (from memory)."""
    roof = Roof(above, out, 0.0, 0.0, side, 40.0, house=False)
    assert 1 - sky_view(spot(roof=roof)) == pytest.approx(factor, abs=0.002)


@pytest.mark.parametrize(
    ("distance", "half_width", "factor"), [(2, 2, 0.1115), (1, 3, 0.2652)], ids=["two metres off", "one metre off"]
)
def test_view_of_a_short_wall(distance: float, half_width: float, factor: float) -> None:
    """Perpendicular rectangle 2 m high, element before its foot's middle: Howell, B-4 (from memory)."""
    wall = Wall(250.0, distance, 2.0, half_width, half_width)
    assert 1 - sky_view(spot(walls=(wall,))) == pytest.approx(factor, abs=0.002)


def test_view_from_a_porch_of_finite_width() -> None:
    """Roof .3024 and wall .3709 leave .3267: sums of Howell's B-3 and B-4, checked once with two million rays."""
    roof = Roof(2.2, 1.5, 0.5, 2.0, 2.0, 200.0, house=False)
    wall = Wall(20.0, 0.5, 2.2, 2.0, 2.0)
    assert sky_view(spot(roof=roof)) == pytest.approx(1 - 0.3024, abs=0.002)
    assert sky_view(spot(roof=roof, walls=(wall,))) == pytest.approx(0.3267, abs=0.002)


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
