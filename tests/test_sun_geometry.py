"""Rays past roofs, walls, trees and skylines."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from sun_spots import (
    CARPORT,
    LINCOLN,
    OAK,
    READING,
    canopy,
    degrees,
    share_by_minute,
    spot,
)
from validation import compare, outside

from hardenoff.records import Place, Wall
from hardenoff.sun.geometry import share
from hardenoff.sun.position import day_span, sky
from hardenoff.sun.rays import meets_roof, meets_wall, skyline_height_deg, within

# --- shadow angles ---------------------------------------------------------------------------------


def edge(shaded: Callable[[float], bool], least: float, most: float) -> float:
    """Where shade ends, found by halving: shaded at the least, not at the most."""
    assert shaded(least)
    assert not shaded(most)
    while most - least > 1e-9:
        middle = (least + most) / 2
        least, most = (middle, most) if shaded(middle) else (least, middle)
    return least


def profile_edge_deg(elevation: float, azimuth: float) -> float:
    """The steepest angle of a roof's edge, seen square to its south side, that still takes this sun away."""

    def shaded(angle: float) -> bool:
        roof = canopy(math.tan(math.radians(angle)), 1.0, 180.0)
        return bool(meets_roof(roof, degrees(elevation), degrees(azimuth)).all())

    return edge(shaded, 0.01, 89.9)


SZOKOLAY = "Szokolay 1996, *Solar Geometry* (PLEA note 1)"


@pytest.mark.parametrize(
    ("elevation", "azimuth", "depth_m", "drop_m"),
    [(50.0, 210.0, 1.0, 1.376), (35.0, 120.0, 1.2, 1.680), (60.0, 180.0, 0.6, 1.039)],
)
@outside(
    f"{SZOKOLAY}: drop = depth x tan VSA, tan VSA = tan e / cos HSA",
    "how far down the shadow of an overhang to the south reaches",
    within="0.001 m",
    because="worked to the millimetre",
)
def test_an_overhang_shades_by_the_vertical_shadow_angle(
    elevation: float, azimuth: float, depth_m: float, drop_m: float
) -> None:
    """Three suns, two of them from the side."""

    def shaded(above_m: float) -> bool:
        return bool(meets_roof(canopy(above_m, depth_m, 180.0), degrees(elevation), degrees(azimuth)).all())

    compare(edge(shaded, 0.01, 9.0), drop_m)


@pytest.mark.parametrize("latitude", [0.5, 23.0, 40.0, 51.45, 65.0])
@outside(
    f"{SZOKOLAY}: at the equinox the sun's path lies in one plane through east and west",
    "profile angle on a south facade, 90 less the latitude at every hour",
    within="0.001 deg",
    because="an identity; halving stops at a millionth of that",
)
def test_at_the_equinox_the_profile_angle_on_a_south_facade_is_90_minus_latitude(latitude: float) -> None:
    """An edge cuts all of it or none."""
    phi = math.radians(latitude)
    for hour_angle in np.radians(np.arange(-85.0, 86.0, 5.0)):
        elevation = math.degrees(math.asin(math.cos(phi) * math.cos(hour_angle)))
        azimuth = math.degrees(math.atan2(-math.sin(hour_angle), -math.cos(hour_angle) * math.sin(phi))) % 360
        compare(profile_edge_deg(elevation, azimuth), 90.0 - latitude)


@pytest.mark.parametrize(
    ("declination", "hour_angle", "profile"),
    [
        (18, 0, 56.55),
        (18, -15, 57.14),
        (18, -45, 63.23),
        (18, -60, 71.57),
        (-10, 0, 28.55),
        (-10, -45, 24.55),
        (-10, -75, 4.28),
    ],
)
@outside(
    "spherical trigonometry, worked once for declinations 18 and -10",
    "profile angle on a south facade at 51.45 N through the day",
    within="0.01 deg",
    because="worked to two digits",
    kind="anew",
)
def test_profile_angles_through_the_day(declination: float, hour_angle: float, profile: float) -> None:
    """An overhang shades more away from noon in summer, less in winter."""
    phi, delta, hour = (math.radians(angle) for angle in (51.45, declination, hour_angle))
    elevation = math.asin(math.sin(phi) * math.sin(delta) + math.cos(phi) * math.cos(delta) * math.cos(hour))
    east = -math.cos(delta) * math.sin(hour)
    north = math.cos(phi) * math.sin(delta) - math.sin(phi) * math.cos(delta) * math.cos(hour)
    compare(profile_edge_deg(math.degrees(elevation), math.degrees(math.atan2(east, north)) % 360), profile)


# --- roof ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("elevation", "azimuth", "blocked"),
    [
        (90.0, 0.0, True),
        (54.0, 180.0, True),  # edge in front at atan(2.0 / 1.5) = 53.1 deg
        (52.0, 180.0, False),
        (77.0, 0.0, True),  # edge behind at atan(2.0 / 0.5) = 76.0 deg
        (75.0, 0.0, False),
        (64.0, 90.0, True),  # looking south, left is east: atan(2 / 1) = 63.4 deg
        (63.0, 90.0, False),
        (34.0, 270.0, True),  # right is west: atan(2 / 3) = 33.7 deg
        (33.0, 270.0, False),
    ],
)
def test_the_edges_of_a_roof(elevation: float, azimuth: float, blocked: bool) -> None:
    """Straight across an edge the ray is cut at atan(height / distance); left and right as seen looking out."""
    assert meets_roof(CARPORT, degrees(elevation), degrees(azimuth)).all() == blocked


def test_the_house_blocks_every_ray_towards_the_back() -> None:
    """With a house nothing comes from behind, at whatever height; without one only the roof is there."""
    elevation, azimuth = degrees(5, 40, 75, 85), degrees(275, 340, 0, 80)
    assert meets_roof(replace(CARPORT, house=True), elevation, azimuth).all()
    assert not meets_roof(CARPORT, elevation[:3], azimuth[:3]).any()


# --- walls -----------------------------------------------------------------------------------------


def test_a_long_wall_is_a_skyline() -> None:
    """Its top at bearing a stands at tan h = H cos(a - g) / d (derived); half a degree either side decides."""
    wall = Wall(towards_deg=90.0, distance_m=2.0, height_m=1.6)
    azimuth = np.arange(10.0, 171.0, 10.0)
    top = np.degrees(np.arctan(1.6 * np.cos(np.radians(azimuth - 90.0)) / 2.0))
    assert meets_wall(wall, top - 0.5, azimuth).all()
    assert not meets_wall(wall, top + 0.5, azimuth).any()
    assert not meets_wall(wall, np.full(5, 0.1), degrees(181, 200, 270, 340, 359)).any()


def test_the_ends_of_a_wall() -> None:
    """Facing a wall to the east, left is north: an end stands where tan(a - 90) = length / distance."""
    wall = Wall(towards_deg=90.0, distance_m=2.0, height_m=9.0, left_m=2.0)
    low = np.full(4, 1.0)
    np.testing.assert_array_equal(meets_wall(wall, low, degrees(44, 46, 135, 179)), [False, True, True, True])
    np.testing.assert_array_equal(
        meets_wall(replace(wall, left_m=None, right_m=2.0), low, degrees(1, 90, 134, 136)),
        [True, True, True, False],
    )


# --- skyline and trees -----------------------------------------------------------------------------


def test_a_skyline_is_straight_between_points_and_closed_round_north() -> None:
    """Points (90, 12), (180, 5), (270, 20): at north, half way from the last to the first, it is 16 deg high."""
    skyline = ((90.0, 12.0), (180.0, 5.0), (270.0, 20.0))
    np.testing.assert_allclose(
        skyline_height_deg(skyline, degrees(90, 135, 180, 270, 0, 360, 45)), [12, 8.5, 5, 20, 16, 16, 14]
    )


def test_one_point_is_a_skyline_all_round() -> None:
    """A single point says how high it is everywhere."""
    np.testing.assert_allclose(skyline_height_deg(((200.0, 7.0),), degrees(0, 90, 200, 359.9)), 7.0)


def test_two_heights_at_one_bearing_are_a_step() -> None:
    """A list from 0 to 360 with unlike ends, and a step at 180, keep their sides."""
    skyline = ((0.0, 10.0), (180.0, 10.0), (180.0, 30.0), (360.0, 30.0))
    np.testing.assert_allclose(skyline_height_deg(skyline, degrees(1, 179, 181, 359)), [10, 10, 30, 30])


@pytest.mark.parametrize(
    ("bearing", "start", "end", "inside"),
    [
        (0, 350, 20, True),
        (340, 350, 20, False),
        (15, -10, 20, True),
        (100, 0, 360, True),
        (100, 10, 370, True),
        (50, 50, 50, True),
        (51, 50, 50, False),
        (180, 170, 160, True),
        (165, 170, 160, False),
    ],
)
def test_bearings_wrap(bearing: float, start: float, end: float, inside: bool) -> None:
    """From one bearing clockwise to the other, over north too; 0 to 360 is all of them, 50 to 50 only one."""
    assert within(degrees(bearing), start, end).all() == inside


@pytest.mark.parametrize(
    ("on", "share_at_noon"),
    [(date(2027, 4, 30), 0.5), (date(2027, 5, 1), 0.17), (date(2027, 10, 31), 0.17), (date(2027, 11, 1), 0.5)],
)
def test_a_tree_comes_into_leaf_on_its_date(on: date, share_at_noon: float) -> None:
    """Oak passes .50 bare and .17 in leaf (Tregenza & Sharples, *Daylight Algorithms*, after Wilkinson 1992)."""
    passing = share_by_minute(READING, on, spot(trees=(OAK,)))
    assert passing[720] == pytest.approx(share_at_noon)


@pytest.mark.parametrize(
    ("on", "share_at_noon"),
    [(date(2027, 9, 30), 0.5), (date(2027, 10, 1), 0.17), (date(2027, 1, 5), 0.17), (date(2027, 5, 2), 0.5)],
)
def test_in_the_south_leaves_last_over_the_new_year(on: date, share_at_noon: float) -> None:
    """At 43 S a tree to the north is in leaf from October to May."""
    tree = replace(OAK, from_deg=270.0, to_deg=90.0, leaf_out=(10, 1), leaf_fall=(5, 2))
    passing = share_by_minute(LINCOLN, on, spot(trees=(tree,)))
    assert passing[750] == pytest.approx(share_at_noon)


def test_the_sun_passes_under_and_over_a_crown() -> None:
    """A crown between 20 and 40 degrees leaves the sun below and above it alone."""
    tree = replace(OAK, from_deg=0.0, to_deg=360.0, bottom_deg=20.0, top_deg=40.0)
    day = sky(READING, *day_span(READING, date(2027, 6, 1)), 5)
    passing = share(spot(trees=(tree,)), READING, day)
    crown = (day.elevation_deg >= 20) & (day.elevation_deg <= 40)
    np.testing.assert_allclose(passing[crown], 0.17)
    np.testing.assert_allclose(passing[(day.elevation_deg > 0) & ~crown], 1.0)


def test_two_crowns_and_two_layers_multiply() -> None:
    """Bare .5 twice under layers of .5 and .7 together (0.35): 0.0875 of the beam."""
    tree = replace(OAK, leaf_out=(12, 30), leaf_fall=(12, 31))
    passing = share_by_minute(READING, date(2027, 6, 1), spot(trees=(tree, tree), shade=0.5 * 0.7))
    assert passing[720] == pytest.approx(0.5 * 0.5 * 0.35)


@pytest.mark.parametrize(("shade", "arrives"), [(0.019, 0.0), (0.021, 0.021)])
def test_below_two_per_cent_counts_as_blocked(shade: float, arrives: float) -> None:
    """Ours: a share under 0.02 is no sun."""
    passing = share_by_minute(READING, date(2027, 6, 1), spot(shade=shade))
    assert passing.max() == pytest.approx(arrives)


def test_no_sun_before_its_centre_is_up() -> None:
    """An open spot has its share exactly while the apparent centre stands above the horizon."""
    day = sky(READING, *day_span(READING, date(2027, 6, 1)), 1)
    np.testing.assert_array_equal(share(spot(), READING, day), (day.elevation_deg > 0).astype(float))


def test_the_day_of_a_half_hour_zone() -> None:
    """In Adelaide (UTC+9:30) a tree leafs out at local midnight, 14:30 UTC of the day before."""
    adelaide = Place("Adelaide", -34.93, 138.6, 50.0, "Australia/Adelaide")
    around = replace(OAK, from_deg=0.0, to_deg=360.0, leaf_out=(9, 1), leaf_fall=(4, 1), top_deg=90.0)
    start, _ = day_span(adelaide, date(2027, 8, 31))
    days = sky(adelaide, start, start + timedelta(days=2), 5)
    passing = share(spot(trees=(around,)), adelaide, days)
    second = days.times >= start + timedelta(days=1)
    assert set(passing[~second]) == {0.0, 0.5}
    assert set(passing[second]) == {0.0, 0.17}
