"""Alerts of the US National Weather Service that bear on plants outside; nothing that is over or replaced.

The service delivers CAP messages (Common Alerting Protocol 1.2, OASIS 2010) as GeoJSON features. Two traps:
`effective` and `expires` are the life of the message, `onset` and `ends` that of the weather; and a replaced
message stays in the active list, marked only by `urgency: Past`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from hardenoff.errors import UnreadableError
from hardenoff.forecast.body import load_json
from hardenoff.forecast.fields import as_list, as_object, in_a_line, utc_or_none
from hardenoff.forecast.nws_problem import ACCEPT, HOST, KEY, refuse_problem
from hardenoff.forecast.reader import Request, base_url, coordinates
from hardenoff.records import ForecastSettings, Place

ALERTS = "alerts"
"""The role of the reply that holds alerts."""

ATTRIBUTION = "Alerts: US National Weather Service (public domain)"

Kind = Literal["frost", "freeze", "cold", "wind", "thunderstorm", "heat", "other"]

_KINDS: tuple[tuple[Kind, re.Pattern[str]], ...] = (
    ("frost", re.compile(r"\bfrost\b")),
    ("freeze", re.compile(r"\bfreeze\b")),
    ("cold", re.compile(r"\b(extreme cold|cold weather|wind chill)\b")),
    ("thunderstorm", re.compile(r"\b(thunderstorm|tornado)\b")),
    ("heat", re.compile(r"\bheat\b")),
    ("wind", re.compile(r"\b(wind|gale|storm force|hurricane|typhoon|tropical storm)\b")),
)
"""Whole words of the event's name, first match counts: `Freezing Rain` is no freeze, `Wind Chill` no wind.

Names before October 2024 (Hard Freeze, Wind Chill, Excessive Heat) match as well: recorded replies have them.
"""

_CODES: Mapping[str, Kind] = {"FZW": "freeze", "FZA": "freeze", "FRY": "frost", "CWY": "cold"}
"""`eventCode.NationalWeatherService`, a hint where the name says nothing (FRY from memory)."""


@dataclass(frozen=True, slots=True)
class Alert:
    """One alert about the weather between `onset` and `ends`, both UTC."""

    event: str
    """Its official name."""
    kind: Kind
    onset: datetime | None
    """None: already there."""
    ends: datetime | None
    """None: until further notice."""
    headline: str
    severity: str
    """CAP: Extreme, Severe, Moderate, Minor or Unknown."""
    source: str
    """The office that issued it."""


def request(place: Place, settings: ForecastSettings) -> Request:
    """The address of the alerts in force at a place."""
    lat, lon = coordinates(place, settings)
    url = f"{base_url(settings, KEY, HOST)}/alerts/active?point={lat},{lon}"
    return Request(ALERTS, url, ACCEPT, optional=True, keep_s=60.0)


def read_alerts(body: bytes) -> tuple[Alert, ...]:
    """Alerts that stand, by onset: no tests, drafts, cancelled, past or replaced ones.

    Raises
    ------
    NotCoveredError
        A place that the service does not serve.
    UnreadableError
        No list of alerts: a problem document, a web page, a body cut off.
    """
    document = load_json(body, "NWS alerts")
    refuse_problem(document)
    features = document.get("features")
    if not isinstance(features, list):
        raise UnreadableError(
            "NWS alerts: no list of alerts in the reply",
            "a FeatureCollection with `features`, empty if there are none",
            "fetch it again; until then take it that a warning may be in force",
        )
    messages = [as_object(as_object(feature).get("properties")) for feature in features]
    replaced = {
        str(as_object(older).get("identifier")) for m in messages for older in as_list(m.get("references"))
    }
    standing = [_alert(m) for m in messages if _stands(m) and str(m.get("id")) not in replaced]
    return tuple(sorted(standing, key=lambda alert: alert.onset.timestamp() if alert.onset else 0.0))


def in_force(alerts: Iterable[Alert], start: datetime, end: datetime) -> tuple[Alert, ...]:
    """The alerts whose weather overlaps the time from `start` until just before `end` (tz-aware)."""
    return tuple(
        alert
        for alert in alerts
        if (alert.onset is None or alert.onset < end) and (alert.ends is None or alert.ends > start)
    )


def kind_of(event: str, code: str = "") -> Kind:
    """What an alert is about, from its event name in any letter case; `code` helps where the name does not."""
    name = event.casefold()
    return next((kind for kind, words in _KINDS if words.search(name)), _CODES.get(code, "other"))


def _stands(message: Mapping[str, object]) -> bool:
    return (
        message.get("status") == "Actual"
        and message.get("messageType") != "Cancel"
        and message.get("urgency") != "Past"
        and not message.get("replacedBy")
    )


def _alert(message: Mapping[str, object]) -> Alert:
    event = in_a_line(message.get("event") or "Unnamed alert")
    onset, ends = _first_moment(message, "onset", "effective", "sent"), _first_moment(message, "ends", "expires")
    codes = as_list(as_object(message.get("eventCode")).get("NationalWeatherService"))
    return Alert(
        event=event,
        kind=kind_of(event, str(codes[0]) if codes else ""),
        onset=onset,
        # Without `ends`, a message that runs out before its weather begins will be followed by another.
        ends=None if onset is not None and ends is not None and ends <= onset else ends,
        headline=in_a_line(message.get("headline") or event),
        severity=in_a_line(message.get("severity") or "Unknown"),
        source=in_a_line(message.get("senderName") or "US National Weather Service"),
    )


def _first_moment(message: Mapping[str, object], *names: str) -> datetime | None:
    moments = (utc_or_none(message.get(name)) for name in names)
    return next((moment for moment in moments if moment is not None), None)
