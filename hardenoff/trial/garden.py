"""The garden in which trials are played when no garden is given: three spots, two carers (invented)."""

from __future__ import annotations

from hardenoff.records import Batch, Carer, Garden, Inside, Lamp, Place, Roof, ShelterArc, Span, Spot, Wall
from hardenoff.tables import find_crop, load_rules

PORCH = Spot(
    "back porch",
    roof=Roof(2.3, 1.4, 0.6, 3.0, 3.0, 10.0),
    walls=(Wall(90.0, 1.0, 2.8),),
    shelter=(ShelterArc(0.0, 360.0, 0.4),),
)
STEPS = Spot(
    "garden steps",
    skyline=((0.0, 12.0), (60.0, 12.0), (61.0, 6.0), (140.0, 6.0), (141.0, 80.0), (359.0, 80.0)),
    shelter=(ShelterArc(0.0, 360.0, 0.6),),
)
BED = Spot("bed")
SPOTS = (PORCH, STEPS, BED)

HOME = Carer(week=((Span(7 * 60, 21 * 60),),) * 7)
WORK = Carer(week=((Span(390, 460), Span(1065, 1260)),) * 5 + ((Span(420, 1260),),) * 2)
CARERS = {"home": HOME, "work": WORK}
"""At home from 7 to 21; or away at work on weekdays from 7:40 to 17:45."""


def trial_garden(place: Place, crop: str, carer: str, rule: str | None = None) -> Garden:
    """A garden with one tray of one crop, raised under a lamp. KeyError: no such crop, carer or rule."""
    of = find_crop(crop)
    if of is None:
        raise KeyError(crop)
    batch = Batch(of.key, of, load_rules()[rule or of.rule], lamp=Lamp(200.0, 16.0), plant_out_at=BED.name)
    return Garden(place, CARERS[carer], Inside(), SPOTS, (batch,))
