"""What stands in the way of a ray of light: roof, walls, trees, skyline.

A ray leaves the plant towards an elevation and a bearing (degrees, arrays of one shape). Its parts along a bearing
`g` are: forward cos(e) cos(a - g), to the right cos(e) sin(a - g), up sin(e). Lengths are metres from the plant.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from hardenoff.records import Roof, Spot, Tree, Wall

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Leaves = Sequence[bool | Bools]
"""One entry a tree: in leaf or not, for all rays or ray by ray."""


def share_passing(spot: Spot, elevation_deg: Floats, azimuth_deg: Floats, in_leaf: Leaves) -> Floats:
    """Share of each ray that gets past roof, walls, skyline and trees, 0 to 1 (shade layers not counted)."""
    blocked = np.zeros(np.shape(elevation_deg), dtype=bool)
    if spot.roof is not None:
        blocked |= meets_roof(spot.roof, elevation_deg, azimuth_deg)
    for wall in spot.walls:
        blocked |= meets_wall(wall, elevation_deg, azimuth_deg)
    if spot.skyline:
        blocked |= elevation_deg <= skyline_height_deg(spot.skyline, azimuth_deg)
    share = np.where(blocked, 0.0, 1.0)
    for tree, leafy in zip(spot.trees, in_leaf, strict=True):
        crossed = meets_crown(tree, elevation_deg, azimuth_deg)
        share *= np.where(crossed, np.where(leafy, tree.leafy, tree.bare), 1.0)
    return share


def meets_roof(roof: Roof, elevation_deg: Floats, azimuth_deg: Floats) -> Bools:
    """Does the ray meet the roof, or the house behind its back edge?

    The ray reaches the roof's height `above_m` at `above_m / up` times its own parts; the comparison is multiplied
    out, so that a level ray needs no division.
    """
    forward, right, up = _parts(elevation_deg, azimuth_deg, roof.open_to_deg)
    out, side = forward * roof.above_m, right * roof.above_m
    under = (
        (-roof.back_m * up <= out)
        & (out <= roof.front_m * up)
        & (-roof.left_m * up <= side)
        & (side <= roof.right_m * up)
    )
    return under | (forward < 0) if roof.house else under


def meets_wall(wall: Wall, elevation_deg: Floats, azimuth_deg: Floats) -> Bools:
    """Does the ray meet the wall? Left and right are the plant's, looking at the wall."""
    forward, right, up = _parts(elevation_deg, azimuth_deg, wall.towards_deg)
    side = right * wall.distance_m
    met = (forward > 0) & (up * wall.distance_m <= wall.height_m * forward)
    if wall.left_m is not None:
        met &= -wall.left_m * forward <= side
    if wall.right_m is not None:
        met &= side <= wall.right_m * forward
    return met


def meets_crown(tree: Tree, elevation_deg: Floats, azimuth_deg: Floats) -> Bools:
    """Does the ray cross the tree's crown (a box of bearings and heights)?"""
    return (
        within(azimuth_deg, tree.from_deg, tree.to_deg)
        & (tree.bottom_deg <= elevation_deg)
        & (elevation_deg <= tree.top_deg)
    )


def skyline_height_deg(skyline: Sequence[tuple[float, float]], azimuth_deg: Floats) -> Floats:
    """Height of the skyline at each bearing: straight lines between its points, closed round the compass. [deg]"""
    bearing, height = np.asarray(skyline, dtype=float).T
    bearings = np.concatenate(([bearing[-1] - 360.0], bearing, [bearing[0] + 360.0]))
    heights = np.concatenate(([height[-1]], height, [height[0]]))
    return np.asarray(np.interp(np.mod(azimuth_deg, 360.0), bearings, heights), dtype=float)


def within(bearing_deg: Floats, from_deg: float, to_deg: float) -> Bools:
    """Is the bearing met on the way clockwise from one bearing to the other? 0 to 360 is the whole compass."""
    width = to_deg - from_deg
    if width < 360.0:
        width %= 360.0
    return np.mod(bearing_deg - from_deg, 360.0) <= width


def is_in_leaf(tree: Tree, month_day: int | npt.NDArray[np.int64]) -> bool | Bools:
    """In leaf from the day of `leaf_out` until the day of `leaf_fall`, in the south over the new year.

    `month_day` is 100 x month + day.
    """
    out, fall = (100 * month + day for month, day in (tree.leaf_out, tree.leaf_fall))
    if out < fall:
        return (month_day >= out) & (month_day < fall)
    return (month_day >= out) | (month_day < fall)


def _parts(elevation_deg: Floats, azimuth_deg: Floats, ahead_deg: float) -> tuple[Floats, Floats, Floats]:
    elevation, turn = np.radians(elevation_deg), np.radians(azimuth_deg - ahead_deg)
    level = np.cos(elevation)
    return level * np.cos(turn), level * np.sin(turn), np.sin(elevation)
