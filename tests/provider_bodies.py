"""Small replies in the providers' own shape, for tests of everything that comes before reading them.

Invented weather. The readers' own tests hold the shapes to the providers' documentation.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta


def midnight(now: datetime) -> datetime:
    """00:00 UTC of the day."""
    return now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)


def open_meteo(
    now: datetime, *, air_c: float | None = 9.0, latitude: float = 40.0, longitude: float = -83.0, days: int = 18
) -> bytes:
    """`/v1/forecast`, hourly from two days before `now`, the same air temperature in every hour."""
    start = midnight(now) - timedelta(days=2)
    stamps = [int((start + timedelta(hours=hour)).timestamp()) for hour in range(24 * days)]
    steady = {
        "temperature_2m": ("°C", air_c),
        "relative_humidity_2m": ("%", 70),
        "dew_point_2m": ("°C", 3.7),
        "precipitation": ("mm", 0.0),
        "precipitation_probability": ("%", 5),
        "cloud_cover": ("%", 40),
        "wind_speed_10m": ("m/s", 2.5),
        "wind_gusts_10m": ("m/s", 5.5),
        "shortwave_radiation": ("W/m²", 150.0),
        "direct_normal_irradiance": ("W/m²", 100.0),
        "diffuse_radiation": ("W/m²", 80.0),
    }
    return json.dumps(
        {
            "latitude": latitude,
            "longitude": longitude,
            "generationtime_ms": 0.2,
            "utc_offset_seconds": 0,
            "timezone": "GMT",
            "timezone_abbreviation": "GMT",
            "elevation": 240.0,
            "hourly_units": {"time": "unixtime", **{name: unit for name, (unit, _) in steady.items()}},
            "hourly": {"time": stamps, **{name: [value] * len(stamps) for name, (_, value) in steady.items()}},
        }
    ).encode()


def met_norway(now: datetime, *, air_c: float = 7.0, latitude: float = 40.0, longitude: float = -83.0) -> bytes:
    """`/locationforecast/2.0/complete`, nine days of hours."""
    start = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    details = {
        "air_temperature": air_c,
        "cloud_area_fraction": 40.0,
        "dew_point_temperature": 2.0,
        "relative_humidity": 70.0,
        "wind_from_direction": 200.0,
        "wind_speed": 2.5,
    }
    steps = [
        {
            "time": f"{start + timedelta(hours=hour):%Y-%m-%dT%H:%M:%SZ}",
            "data": {
                "instant": {"details": details},
                "next_1_hours": {"summary": {"symbol_code": "cloudy"}, "details": {"precipitation_amount": 0.0}},
            },
        }
        for hour in range(24 * 9)
    ]
    units = {
        "air_temperature": "celsius",
        "cloud_area_fraction": "%",
        "dew_point_temperature": "celsius",
        "precipitation_amount": "mm",
        "relative_humidity": "%",
        "wind_from_direction": "degrees",
        "wind_speed": "m/s",
    }
    return json.dumps(
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [longitude, latitude, 240]},
            "properties": {
                "meta": {"updated_at": f"{start:%Y-%m-%dT%H:%M:%SZ}", "units": units},
                "timeseries": steps,
            },
        }
    ).encode()


def nws_points(host: str) -> bytes:
    """`/points`: which cell of which office's grid."""
    grid = f"{host}/gridpoints/ILN/81,83"
    return json.dumps(
        {
            "properties": {
                "@type": "wx:Point",
                "gridId": "ILN",
                "gridX": 81,
                "gridY": 83,
                "forecastGridData": grid,
                "timeZone": "America/New_York",
            }
        }
    ).encode()


def nws_grid(now: datetime, *, air_c: float | None = 6.0, values: bool = True) -> bytes:
    """`/gridpoints`, one run-length interval a layer; without `values` the layers are there and empty."""
    start = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    span = f"{start:%Y-%m-%dT%H:%M:%S}+00:00/P7D"
    levels = {
        "temperature": ("wmoUnit:degC", air_c),
        "dewpoint": ("wmoUnit:degC", 2.0),
        "relativeHumidity": ("wmoUnit:percent", 70),
        "windSpeed": ("wmoUnit:km_h-1", 9.0),
        "skyCover": ("wmoUnit:percent", 40),
    }
    layers = {
        name: {"uom": unit, "values": [{"validTime": span, "value": value}] if values else []}
        for name, (unit, value) in levels.items()
    }
    properties = {
        "@type": "wx:Gridpoint",
        "updateTime": f"{start:%Y-%m-%dT%H:%M:%S}+00:00",
        "validTimes": span,
        "elevation": {"unitCode": "wmoUnit:m", "value": 240.0},
        **layers,
    }
    corners = [[-83.05, 39.95], [-82.95, 39.95], [-82.95, 40.05], [-83.05, 40.05], [-83.05, 39.95]]
    return json.dumps(
        {"geometry": {"type": "Polygon", "coordinates": [corners]}, "properties": properties}
    ).encode()


def nws_alerts(now: datetime, *events: str) -> bytes:
    """`/alerts/active`: these alerts, from now for ten hours."""
    features = [
        {
            "properties": {
                "id": f"urn:oid:2.49.0.1.840.0.{number}",
                "status": "Actual",
                "messageType": "Alert",
                "urgency": "Expected",
                "severity": "Moderate",
                "event": event,
                "headline": f"{event} tonight",
                "senderName": "NWS Wilmington OH",
                "sent": now.isoformat(),
                "effective": now.isoformat(),
                "onset": now.isoformat(),
                "expires": (now + timedelta(hours=8)).isoformat(),
                "ends": (now + timedelta(hours=10)).isoformat(),
                "eventCode": {"NationalWeatherService": ["FZW"]},
            }
        }
        for number, event in enumerate(events)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()
