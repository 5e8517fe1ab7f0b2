"""MET Norway Locationforecast 2.0 `complete`: worldwide, nine to ten days, no radiation and no soil.

Some 60 steps of one hour, then steps of six. Instants inside a six-hour step are interpolated; the step's own
minimum is not, because the coldest hour of a night falls between instants. Formats and duties as documented
by the provider (metno/weatherapi-docs, 2023). Data licence CC BY 4.0 and NLOD 2.0.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from hardenoff.errors import UnreadableError
from hardenoff.forecast.body import load_json
from hardenoff.forecast.fields import as_list, as_number, as_object, shown, utc_or_none
from hardenoff.forecast.frame import finished
from hardenoff.forecast.hours import Forecast, Origin
from hardenoff.forecast.met_steps import BLOCK_LOW, CHANCE, INSTANTS, PRECIPITATION, block_lows, hours, read_steps
from hardenoff.forecast.reader import FORECAST, Request, base_url, coordinates
from hardenoff.records import ForecastSettings, Place

HOST = "https://api.met.no"


class MetNorway:
    """The reader. One request; a User-Agent with a contact is compulsory."""

    key = "met-norway"
    attribution = "Based on data from MET Norway (CC BY 4.0, https://api.met.no/), steps filled to hours"

    def requests(
        self, place: Place, settings: ForecastSettings, answered: Mapping[str, bytes]
    ) -> tuple[Request, ...]:
        """See Reader. The elevation, where known, corrects the temperature."""
        if FORECAST in answered:
            return ()
        base, (lat, lon) = base_url(settings, self.key, HOST), coordinates(place, settings)
        altitude = "" if place.elevation_m is None else f"&altitude={place.elevation_m:.0f}"
        url = f"{base}/weatherapi/locationforecast/2.0/complete?lat={lat}&lon={lon}{altitude}"
        return (Request(FORECAST, url, {"Accept": "application/json"}),)

    def recognises(self, document: object) -> bool:
        """See Reader."""
        return isinstance(document, dict) and "timeseries" in as_object(document.get("properties"))

    def parse(
        self, bodies: Mapping[str, bytes], *, fetched_at: datetime | None, headers: Mapping[str, str]
    ) -> Forecast:
        """See Reader."""
        document = load_json(bodies[FORECAST], "MET Norway reply")
        properties = as_object(document.get("properties"))
        meta = as_object(properties.get("meta"))
        _refuse_units(as_object(meta.get("units")))
        notes: list[str] = []
        steps = read_steps(as_list(properties.get("timeseries")), notes)
        frame = hours(steps)
        notes += [f"{v.name}: not in the reply" for v in INSTANTS if frame[v.column].isna().all()]
        latitude, longitude, elevation_m = _point(document.get("geometry"))
        origin = Origin(
            provider=self.key,
            attribution=self.attribution,
            issued_at=utc_or_none(meta.get("updated_at")),
            fetched_at=fetched_at,
            latitude=latitude,
            longitude=longitude,
            elevation_m=elevation_m,
            estimated=(BLOCK_LOW.column,),
            notes=tuple(notes),
        )
        return finished(frame, origin, block_lows=block_lows(steps))


READER = MetNorway()


def _refuse_units(stated: Mapping[str, object]) -> None:
    for variable in (*INSTANTS, BLOCK_LOW, PRECIPITATION, CHANCE):
        unit = stated.get(variable.name, variable.unit)
        if unit != variable.unit:
            raise UnreadableError(
                f"MET Norway reply: {variable.name} comes in {shown(unit)}",
                variable.unit,
                "use another source",
            )


def _point(geometry: object) -> tuple[float | None, float | None, float | None]:
    """Latitude, longitude and elevation (m), from a GeoJSON point."""
    try:
        numbers = [as_number(number) for number in as_list(as_object(geometry).get("coordinates"))]
    except ValueError:
        numbers = []
    lon, lat, elevation, *_ = (*numbers, None, None, None)
    return lat, lon, elevation
