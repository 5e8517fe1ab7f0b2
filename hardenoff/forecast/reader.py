"""The seam of a weather provider: which requests to send, and how to read what came back.

A reader is one module of this package named after its key (`met-norway` -> `met_norway.py`) that ends in
`READER = MetNorway()`. Nothing has to be registered. It is pure: no clock, no socket, no file.

Fetching is a loop over `requests`, because some providers need a first reply to know the second address:

    answered = {}
    while todo := [r for r in reader.requests(place, settings, answered) if r.role not in failed]:
        for request in todo:                      # one at a time; an `optional` one may fail
            answered[request.role] = body of request.url
    forecast = reader.parse(answered, fetched_at=now, headers=headers of the reply with role FORECAST)

`requests` returns only roles that `answered` lacks and can be asked now, and `()` when nothing is left.
The role FORECAST alone must be enough for `parse`: a bare saved body is `{FORECAST: body}`.
`parse` builds a frame with a tz-aware index and some of `COLUMN_NAMES`, then hands it to
`frame.finished(...)`; JSON goes through `body.load_json`. Every fault of the data is an UnreadableError.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from hardenoff.forecast.hours import Forecast
from hardenoff.records import ForecastSettings, Place

FORECAST = "forecast"
"""The role of the reply that holds the hours."""

MEMBERS_HOST = "open-meteo-ensemble"
"""What `[forecast.base_url]` calls the host with ensemble members; it is no source of its own."""


@dataclass(frozen=True, slots=True)
class Request:
    """One address to ask. `headers` are what this provider needs besides the User-Agent (`Accept`, ...)."""

    role: str
    url: str
    headers: Mapping[str, str] = field(default_factory=dict)
    optional: bool = False
    """The forecast can be read without it."""
    keep_s: float = 3600.0
    """How long the reply may be used again where it says nothing of that itself, s."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What came back for a role; `headers` with lower-case names."""

    role: str
    url: str
    status: int
    body: bytes
    headers: Mapping[str, str] = field(default_factory=dict)


class Reader(Protocol):
    """One provider."""

    @property
    def key(self) -> str:
        """Its name in garden.toml and in `Origin.provider`: lower case, hyphens."""
        ...

    @property
    def attribution(self) -> str:
        """The credit its licence asks for."""
        ...

    def requests(
        self, place: Place, settings: ForecastSettings, answered: Mapping[str, bytes]
    ) -> tuple[Request, ...]:
        """The next requests, given the bodies that are there (by role); none left: `()`."""
        ...

    def recognises(self, document: object) -> bool:
        """Whether a FORECAST body of this provider (or its error reply) looks like `document`.

        `document` is the decoded JSON value, or the text (str) of a body that is no JSON.
        """
        ...

    def parse(
        self, bodies: Mapping[str, bytes], *, fetched_at: datetime | None, headers: Mapping[str, str]
    ) -> Forecast:
        """Read the bodies (by role). UnreadableError if they are not a forecast of this provider."""
        ...


def coordinates(place: Place, settings: ForecastSettings) -> tuple[str, str]:
    """Latitude and longitude as sent: 2 decimals (about 1 km) for privacy, or 4 with `exact_place`.

    No trailing zeros, which one provider answers with a redirect.
    """
    digits = 4 if settings.exact_place else 2
    return _short(place.latitude, digits), _short(place.longitude, digits)


def base_url(settings: ForecastSettings, key: str, default: str) -> str:
    """Scheme and host of a provider, or the stand-in server that the garden file names for it."""
    return settings.base_urls.get(key, default).rstrip("/")


def _short(degrees: float, digits: int) -> str:
    text = f"{degrees:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
