"""US National Weather Service: the raw layers of a forecast grid cell (`/gridpoints/{office}/{x},{y}`).

The service works in UTC, knows the US alone, and moves its grids without notice. Radiation is not in it.
Addresses, layers and units as in its OpenAPI description (weather-gov/api, 2024); data in the public domain.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from statistics import fmean
from urllib.parse import urlsplit

import pandas as pd

from hardenoff.errors import NotCoveredError, UnreadableError
from hardenoff.forecast import alerts
from hardenoff.forecast.body import load_json
from hardenoff.forecast.fields import as_list, as_number, as_object, in_a_line, shown, utc_or_none
from hardenoff.forecast.frame import finished
from hardenoff.forecast.hours import Forecast, Origin
from hardenoff.forecast.intervals import hold
from hardenoff.forecast.nws_layers import LAYERS, NIGHT_LOWS, TEMPERATURE, native_step_h, spans_of, weather_spans
from hardenoff.forecast.nws_problem import ACCEPT, HOST, KEY, refuse_problem
from hardenoff.forecast.reader import FORECAST, Request, base_url, coordinates
from hardenoff.records import ForecastSettings, Place

POINTS = "points"
"""The role of the reply that names the grid cell of a place."""

KEEP_POINTS_S = 7 * 86400.0
"""Which cell a place is in changes rarely, and without notice (ours)."""

OLD_GRID = timedelta(hours=24)
_GRID_PATH = re.compile(r"/gridpoints/[A-Z0-9]{3}/\d+,\d+")


class Nws:
    """Reads the raw grid; the place's cell comes from `/points`."""

    key = KEY
    attribution = "Source: US National Weather Service (public domain), converted to hours by hardenoff"

    def requests(
        self, place: Place, settings: ForecastSettings, answered: Mapping[str, bytes]
    ) -> tuple[Request, ...]:
        """First the cell of the place, then its grid; alerts beside them. NotCoveredError outside the US."""
        base, (lat, lon) = base_url(settings, KEY, HOST), coordinates(place, settings)
        if POINTS in answered:
            first = Request(FORECAST, base + grid_path(answered[POINTS]), ACCEPT)
        else:
            first = Request(POINTS, f"{base}/points/{lat},{lon}", ACCEPT, keep_s=KEEP_POINTS_S)
        wanted = (first, alerts.request(place, settings))
        return tuple(request for request in wanted if request.role not in answered)

    def recognises(self, document: object) -> bool:
        """Whether it looks like any reply of this service, the useful one or another."""
        if not isinstance(document, dict):
            return False
        inner = document.get("properties", document)
        marks = {"gridId", "validTimes", "forecastGenerator", "forecastGridData"}
        return "api.weather.gov/problems" in str(document.get("type")) or (
            isinstance(inner, dict) and not marks.isdisjoint(inner)
        )

    def parse(
        self, bodies: Mapping[str, bytes], *, fetched_at: datetime | None, headers: Mapping[str, str]
    ) -> Forecast:
        """Read the grid. UnreadableError for a problem document, another product, or a unit we don't know."""
        document = load_json(bodies[FORECAST], "NWS grid")
        refuse_problem(document)
        grid = as_object(document.get("properties", document))
        _refuse_other_product(grid)
        notes: list[str] = []
        spans = {layer.name: spans_of(grid, layer, fetched_at, notes) for layer in (*LAYERS, NIGHT_LOWS)}
        frame = pd.DataFrame({layer.column: layer.to_hours(spans[layer.name]) for layer in LAYERS})
        if frame.empty:
            raise UnreadableError(
                "NWS grid: not one hour of weather in any layer",
                "layers with values (temperature, windSpeed, ...)",
                "the office's grid is empty for now: use another source, and keep the plants inside until then",
            )
        frame["weather_code"] = hold(weather_spans(grid, fetched_at)).reindex(frame.index)
        frame["native_step_h"] = native_step_h(spans[TEMPERATURE.name]).reindex(frame.index)
        lows = spans[NIGHT_LOWS.name]
        latitude, longitude = _centre(document.get("geometry"))
        origin = Origin(
            provider=KEY,
            attribution=self.attribution,
            issued_at=utc_or_none(grid.get("updateTime")),
            fetched_at=fetched_at,
            latitude=latitude,
            longitude=longitude,
            elevation_m=_elevation_m(grid.get("elevation")),
            notes=(*_age_note(utc_or_none(grid.get("updateTime")), fetched_at), *notes),
        )
        blocks = pd.DataFrame(
            {"start": [s.start for s in lows], "end": [s.end for s in lows], "min_c": [s.value for s in lows]}
        )
        return finished(frame, origin, block_lows=blocks)


READER = Nws()


def grid_path(points: bytes) -> str:
    """Path of the grid that a `/points` reply names: its host is left out, so that a stand-in server stays in use.

    Raises
    ------
    NotCoveredError
        The place is not in the US, or at sea.
    UnreadableError
        The reply is no `/points` reply.
    """
    document = load_json(points, "NWS points")
    refuse_problem(document)
    address = as_object(document.get("properties", document)).get("forecastGridData")
    if address is None:
        raise NotCoveredError(
            "the US National Weather Service has no land forecast for this place",
            "a place on land in the US or its territories",
            "use another source",
        )
    path = urlsplit(str(address)).path
    if _GRID_PATH.fullmatch(path) is None:
        raise UnreadableError(
            f"NWS points: {shown(address)} is no address of a grid",
            "/gridpoints/OFFICE/x,y",
            "try again later",
        )
    return path


def _refuse_other_product(grid: Mapping[str, object]) -> None:
    """The service has several products at similar addresses; name the right one."""
    if "periods" in grid:
        raise UnreadableError(
            "this is the National Weather Service's forecast in words or by the hour, rounded for reading",
            "the raw grid, /gridpoints/OFFICE/x,y without /forecast",
            "save the address without what follows the two numbers",
        )
    if "forecastGridData" in grid:
        raise UnreadableError(
            "this reply only says which grid cell the place is in",
            "the grid itself",
            f"save {in_a_line(grid['forecastGridData'])}",
        )


def _age_note(issued_at: datetime | None, fetched_at: datetime | None) -> tuple[str, ...]:
    if issued_at is None or fetched_at is None or fetched_at - issued_at <= OLD_GRID:
        return ()
    age_h = (fetched_at.astimezone(UTC) - issued_at) / timedelta(hours=1)
    return (f"the grid was {age_h:.0f} h old when it was fetched; the office may have a fault",)


def _elevation_m(quantity: object) -> float | None:
    """Metres above sea level; None if the reply has none or says it in another unit."""
    body = as_object(quantity)
    if str(body.get("unitCode")).rpartition(":")[2] != "m":
        return None
    try:
        return as_number(body.get("value"))
    except ValueError:
        return None


def _centre(geometry: object) -> tuple[float | None, float | None]:
    """Latitude and longitude of the middle of the grid cell, a small quadrilateral; None if not given."""
    rings = as_list(as_object(geometry).get("coordinates")) or [[]]
    try:
        corners = {tuple(map(as_number, as_list(corner))) for corner in as_list(rings[0])}
        lons, lats = zip(*corners, strict=True)
        return fmean(lats), fmean(lons)
    except (TypeError, ValueError):
        return None, None
