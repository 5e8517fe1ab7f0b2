"""The light inside, where a batch waits between outings: a lamp's, a window's, or a dim room's."""

from __future__ import annotations

import numpy as np

from hardenoff.ramp.scene import Floats, Scene
from hardenoff.records import DEFAULT_LAMP, Batch, Garden, Inside, Lamp
from hardenoff.sun.light import lamp_mol

WINDOW_MOL, DIM_MOL = 5.0, 1.0
"""Light of a day at a window and in a dim room, mol/m2 (ours)."""
LAMP_MIDDAY_H = 14.0
"""A lamp that does not say when it starts is centred on this hour (ours)."""
QUARTER_S = 900.0
WARM_ROOM_C = 12.0
"""Mean of day and night above which hardy plants lose cold tolerance (ours; it holds at 2 to 9 C, and went within
a day in a warm room: cabbage, Ann. Bot. 78:365, 1996)."""


def is_warm_room(inside: Inside) -> bool:
    """Whether the room they wait in is warm."""
    return (inside.day_c + inside.night_c) / 2.0 > WARM_ROOM_C


def lamp_of(batch: Batch, garden: Garden) -> Lamp | None:
    """The lamp a batch stands under inside; None: a window or a dim room."""
    if batch.lamp is None and garden.inside.light == "lamp":
        return DEFAULT_LAMP
    return batch.lamp


def indoor_day_mol(batch: Batch, garden: Garden) -> float:
    """Light of a day spent inside [mol/m2/d]."""
    lamp = lamp_of(batch, garden)
    if lamp is None:
        return WINDOW_MOL if garden.inside.light == "window" else DIM_MOL
    return lamp_mol(lamp.ppfd, lamp.hours)


def indoor_quarters(batch: Batch, garden: Garden, scene: Scene, day: int) -> Floats:
    """Light of each quarter hour of a date inside [mol/m2]; without a lamp, spread over the sun-up ones."""
    at = scene.slots(day)
    lamp = lamp_of(batch, garden)
    if lamp is None:
        up = scene.sun_up[at].astype(np.float64)
        return up * np.float64(indoor_day_mol(batch, garden) / max(float(up.sum()), 1.0))
    begin = LAMP_MIDDAY_H - lamp.hours / 2.0
    if lamp.start is not None:
        begin = lamp.start.hour + lamp.start.minute / 60.0
    on = np.mod(np.arange(at.stop - at.start) / 4.0 - begin, 24.0) < lamp.hours
    return np.where(on, lamp.ppfd * QUARTER_S / 1e6, 0.0)
