"""Reads a forecast that someone kept: a provider's bare reply, or a bundle of replies with their times.

A bundle is one JSON object of ours, `hardenoff.forecast/1`:

    {"schema": "hardenoff.forecast/1", "provider": "nws",
     "as_of": "2027-04-20T06:00:00+00:00", "fetched_at": "2027-04-20T06:00:00+00:00",
     "place": {"latitude": 40.01, "longitude": -83.02},
     "replies": [{"role": "forecast", "request": {"url": "https://..."}, "status": 200,
                  "headers": {"content-type": "..."}, "body": "..." or "body_base64": "...", "sha256": "..."}],
     "second_opinions": [{"provider": "open-meteo", "fetched_at": "...", "replies": [...]}]}

Roles are `forecast`, `points`, `alerts`, `ensemble`. Second opinions are in it because the colder source decides
about harm: without them the answer would not be the one that was given. It holds no contact, no cookie and no
more of the place than two decimals; `place`, `headers`, `sha256`, `second_opinions` and either of the two times
may be left out.
"""

from __future__ import annotations

import base64
import binascii
import dataclasses
import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from hardenoff.errors import UnreadableError
from hardenoff.forecast.body import load_document
from hardenoff.forecast.checks import freshest_moment
from hardenoff.forecast.ensemble import joined
from hardenoff.forecast.fields import YEARS, shown, utc
from hardenoff.forecast.hours import Forecast
from hardenoff.forecast.reader import FORECAST, Reader, Reply
from hardenoff.forecast.registry import READERS
from hardenoff.records import Place

SCHEMA = "hardenoff.forecast/1"
GOOD_STATUS = (200, 203)
"""203: the provider calls this version of its service deprecated; the body is whole."""

KEPT_HEADERS = ("content-type", "date", "etag", "expires", "last-modified")
_DEGREES = (("latitude", 90.0), ("longitude", 180.0))
_AGAIN = "save the forecast again"


@dataclass(frozen=True, slots=True)
class Saved:
    """A kept forecast and when it was true."""

    forecast: Forecast
    provider: str
    as_of: datetime | None
    """When it was fetched, or made; None only if nothing tells."""
    as_of_estimated: bool
    """True: guessed from the stamps as the latest possible time, so the real age is at least the one from here."""
    status: int | None
    """HTTP status of the forecast's reply; None for a bare body."""
    bodies: Mapping[str, bytes]
    """Every body by its role, for what else they hold (alerts)."""
    second_opinions: tuple[Saved, ...] = ()
    """What other sources said at the same time."""

    @property
    def made_at(self) -> datetime | None:
        """When its hours were fetched or made, from which its age counts: a copy that was kept for a day before
        it was saved is no younger for that."""
        fetched_at = self.forecast.origin.fetched_at
        known = [moment for moment in (fetched_at, self.as_of) if moment is not None]
        return min(known, default=None)


@dataclass(frozen=True, slots=True)
class Source:
    """What `write_bundle` keeps of one source."""

    provider: str
    replies: Sequence[Reply]
    fetched_at: datetime


def read_saved(data: bytes, *, name: str = "forecast file") -> Saved:
    """Read a bundle, or the bare reply of any provider we know by its looks.

    `name` says in messages which file it was.

    Raises
    ------
    UnreadableError
        Neither of the two; a bundle that is damaged or keeps an error; or what the provider's reader says.
    """
    document = load_document(data, name)
    if isinstance(document, dict) and str(document.get("schema", "")).startswith("hardenoff."):
        return _read_bundle(document, name)
    reader = next((reader for reader in READERS.values() if reader.recognises(document)), None)
    if reader is None:
        raise UnreadableError(
            f"{name}: no forecast that we know",
            f"a bundle ({SCHEMA}) or a reply of {', '.join(READERS)}",
            "give the whole reply as the provider sent it, or write one with --save-forecast",
        )
    bodies = {FORECAST: data}
    forecast = reader.parse(bodies, fetched_at=None, headers={})
    as_of = forecast.origin.issued_at
    return Saved(
        forecast,
        provider=reader.key,
        as_of=as_of if as_of is not None else freshest_moment(forecast.hours.index),
        as_of_estimated=as_of is None,
        status=None,
        bodies=bodies,
    )


def write_bundle(
    provider: str,
    replies: Sequence[Reply],
    *,
    fetched_at: datetime,
    as_of: datetime | None = None,
    place: Place | None = None,
    second_opinions: Sequence[Source] = (),
) -> bytes:
    """The bundle that `read_saved` reads back to the same bodies; the same arguments give the same bytes.

    `as_of` is the `now` the forecast was used at; without it, `fetched_at`.
    """
    bundle: dict[str, object] = {
        "schema": SCHEMA,
        "provider": provider,
        "as_of": _iso(as_of if as_of is not None else fetched_at),
        "fetched_at": _iso(fetched_at),
    }
    if place is not None:
        bundle["place"] = {"latitude": round(place.latitude, 2), "longitude": round(place.longitude, 2)}
    bundle["replies"] = [_packed(reply) for reply in replies]
    if second_opinions:
        bundle["second_opinions"] = [
            {
                "provider": source.provider,
                "fetched_at": _iso(source.fetched_at),
                "replies": [_packed(reply) for reply in source.replies],
            }
            for source in second_opinions
        ]
    return (json.dumps(bundle, ensure_ascii=False, indent=1) + "\n").encode()


# --- bundles -----------------------------------------------------------------------------------------


def _read_bundle(bundle: Mapping[str, object], name: str) -> Saved:
    if bundle.get("schema") != SCHEMA:
        raise UnreadableError(
            f"{name}: schema {shown(bundle.get('schema'))}",
            f"{SCHEMA!r}",
            "use the version of hardenoff that wrote it",
        )
    others = bundle.get("second_opinions", [])
    if not isinstance(others, list) or not all(isinstance(other, dict) for other in others):
        raise UnreadableError(f"{name}: second_opinions is no list of objects", "a list of sources", _AGAIN)
    return dataclasses.replace(
        _read_source(bundle, name),
        second_opinions=tuple(_read_source(other, f"{name}, second opinion") for other in others),
    )


def _read_source(bundle: Mapping[str, object], name: str) -> Saved:
    reader = _reader(bundle.get("provider"), name)
    listed = bundle.get("replies")
    if not isinstance(listed, list) or not all(isinstance(reply, dict) for reply in listed):
        raise UnreadableError(f"{name}: replies is no list of objects", "the list of replies", _AGAIN)
    replies: dict[str, Reply] = {}
    for reply in (_unpacked(reply, name) for reply in listed):
        if reply.role in replies:
            raise UnreadableError(f"{name}: two replies with role {shown(reply.role)}", "one reply a role", _AGAIN)
        replies[reply.role] = reply
    if FORECAST not in replies:
        raise UnreadableError(f"{name}: no reply with role {FORECAST!r}", "the reply that holds the hours", _AGAIN)
    fetched_at = _moment(bundle, "fetched_at", name)
    as_of = _moment(bundle, "as_of", name)
    bodies = {role: reply.body for role, reply in replies.items()}
    forecast = reader.parse(
        bodies,
        fetched_at=fetched_at if fetched_at is not None else as_of,
        headers=replies[FORECAST].headers,
    )
    forecast = joined(_placed(forecast, bundle.get("place"), name), bodies)
    known = next((t for t in (as_of, fetched_at, forecast.origin.issued_at) if t is not None), None)
    return Saved(
        forecast,
        provider=reader.key,
        as_of=known if known is not None else freshest_moment(forecast.hours.index),
        as_of_estimated=known is None,
        status=replies[FORECAST].status,
        bodies=bodies,
    )


def _reader(provider: object, name: str) -> Reader:
    if not isinstance(provider, str) or provider not in READERS:
        raise UnreadableError(
            f"{name}: unknown provider {shown(provider)}",
            f"one of {', '.join(READERS)}",
            "mend `provider` in the bundle",
        )
    return READERS[provider]


def _packed(reply: Reply) -> dict[str, object]:
    packed: dict[str, object] = {
        "role": reply.role,
        "request": {"url": reply.url},
        "status": reply.status,
        "headers": {name: reply.headers[name] for name in KEPT_HEADERS if name in reply.headers},
    }
    try:
        packed["body"] = reply.body.decode("utf-8")
    except UnicodeDecodeError:
        packed["body_base64"] = base64.b64encode(reply.body).decode("ascii")
    packed["sha256"] = hashlib.sha256(reply.body).hexdigest()
    return packed


def _unpacked(reply: Mapping[str, object], name: str) -> Reply:
    role, status, request, headers = (reply.get(key) for key in ("role", "status", "request", "headers"))
    if not isinstance(role, str) or not isinstance(status, int):
        raise UnreadableError(f"{name}: a reply without role or status", "role (text) and status (number)", _AGAIN)
    if status not in GOOD_STATUS:
        raise UnreadableError(
            f"{name}: the reply kept as {shown(role)} has HTTP status {status}",
            "status 200 or 203: a forecast",
            _AGAIN,
        )
    body = _body(reply, f"{name}, reply {shown(role)}")
    return Reply(
        role=role,
        url=str(request.get("url", "")) if isinstance(request, dict) else "",
        status=status,
        body=body,
        headers={k.lower(): str(v) for k, v in headers.items()} if isinstance(headers, dict) else {},
    )


def _body(reply: Mapping[str, object], where: str) -> bytes:
    text, coded, digest = (reply.get(key) for key in ("body", "body_base64", "sha256"))
    if isinstance(text, str):
        body = text.encode("utf-8", "surrogatepass")
    elif isinstance(coded, str):
        try:
            body = base64.b64decode(coded, validate=True)
        except (binascii.Error, ValueError):
            raise UnreadableError(f"{where}: body_base64 is damaged", "base64 text", _AGAIN) from None
    else:
        raise UnreadableError(f"{where}: no body", "`body` (text) or `body_base64`", _AGAIN)
    if digest is not None and digest != hashlib.sha256(body).hexdigest():
        raise UnreadableError(
            f"{where}: its body is not what was saved (sha256 differs)", "an untouched body", _AGAIN
        )
    return body


def _placed(forecast: Forecast, place: object, name: str) -> Forecast:
    """The bundle's place stands in where the reply itself names no grid point."""
    origin = forecast.origin
    if origin.latitude is not None or not isinstance(place, dict):
        return forecast
    latitude, longitude = (_degrees(place.get(key), key, most, name) for key, most in _DEGREES)
    origin = dataclasses.replace(origin, latitude=latitude, longitude=longitude)
    return dataclasses.replace(forecast, origin=origin)


def _degrees(value: object, key: str, most: float, name: str) -> float:
    """A coordinate of the bundle's place: a wrong one would let another place's forecast pass."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not -most <= value <= most:
        raise UnreadableError(
            f"{name}: place, {key} = {shown(value)}",
            f"degrees from -{most:g} to {most:g}",
            f"mend {key} in the bundle",
        )
    return float(value)


def _moment(bundle: Mapping[str, object], key: str, name: str) -> datetime | None:
    value = bundle.get(key)
    if value is None:
        return None
    try:
        return utc(str(value))
    except ValueError:
        raise UnreadableError(
            f"{name}: {key} = {shown(value)}",
            f"a time with offset, 2027-04-20T06:00:00+00:00, of the years {YEARS.start} to {YEARS.stop - 1}",
            f"mend {key} in the bundle",
        ) from None


def _iso(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="seconds")
