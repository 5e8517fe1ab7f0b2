"""What of the sun's beam reaches a spot, from geometry alone; the view of the sky; the spot a little moved."""

from __future__ import annotations

import numpy as np

from hardenoff.records import Place, Spot
from hardenoff.sun.position import Sky
from hardenoff.sun.rays import Floats, is_in_leaf, share_passing
from hardenoff.sun.seen import seen_faults, seen_open, seen_warning
from hardenoff.sun.sky_view import sky_view
from hardenoff.sun.variants import variants

__all__ = ["LEAST_SHARE", "seen_faults", "seen_warning", "share", "sky_view", "variants"]

LEAST_SHARE = 0.02
"""A smaller share of the beam counts as blocked (ours)."""


def share(spot: Spot, place: Place, sky: Sky) -> Floats:
    """Share of the direct beam that reaches the spot at each step, 0 to 1, cloud left out.

    Zero where the sun's apparent centre is not above the horizon, is behind roof, house, wall or skyline, or at a
    bearing at which it was never seen; through crowns and shade layers the transmissions multiply. Trees come into
    leaf and lose it from one local date to the next.
    """
    local = sky.times.tz_convert(place.tz)
    month_day = (100 * local.month + local.day).to_numpy() if spot.trees else np.empty(0, dtype=np.int64)
    in_leaf = [is_in_leaf(tree, month_day) for tree in spot.trees]
    passing = share_passing(spot, sky.elevation_deg, sky.azimuth_deg, in_leaf) * spot.shade
    passing[(sky.elevation_deg <= 0.0) | (passing < LEAST_SHARE)] = 0.0
    if spot.sun_seen:
        passing[~seen_open(spot, place, sky)] = 0.0
    return passing
