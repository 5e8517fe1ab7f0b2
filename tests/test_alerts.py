"""Alerts: which of them stand, when their weather is, and what it is about."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from hardenoff.errors import NotCoveredError, UnreadableError
from hardenoff.forecast.alerts import Alert, in_force, kind_of, read_alerts, request
from hardenoff.records import ForecastSettings, Place

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts" / "nws-alerts"
NIGHT = (datetime(2027, 4, 25, 0, tzinfo=UTC), datetime(2027, 4, 25, 11, tzinfo=UTC))
HOUR = timedelta(hours=1)


def body(name: str) -> bytes:
    return (FOLDER / f"{name}.json").read_bytes()


def message(**changes: Any) -> dict[str, Any]:
    """A Freeze Warning of that night, changed."""
    document = json.loads(body("normal"))
    properties: dict[str, Any] = document["features"][0]["properties"]
    return {**properties, **changes}


def read(*messages: dict[str, Any]) -> tuple[Alert, ...]:
    features = [{"type": "Feature", "properties": one} for one in messages]
    return read_alerts(json.dumps({"type": "FeatureCollection", "features": features}).encode())


# --- which stand ----------------------------------------------------------------------------------------


def test_standing_alerts_come_in_order_of_their_weather() -> None:
    """Of seven messages three stand: the others are past, cancelled, a test, or replaced by a later one."""
    assert [alert.event for alert in read_alerts(body("normal"))] == [
        "Wind Advisory",
        "Freeze Warning",
        "Frost Advisory",
    ]


@pytest.mark.parametrize(
    "changes",
    [
        {"urgency": "Past", "certainty": "Observed"},
        {"messageType": "Cancel"},
        {"status": "Test"},
        {"status": "Exercise"},
        {"status": "Draft"},
        {"replacedBy": "https://api.weather.gov/alerts/9"},
    ],
)
def test_message_that_is_over_is_dropped(changes: dict[str, Any]) -> None:
    """A replaced watch stays in the active list, marked only by `urgency: Past`; the rest by CAP 1.2, 3.2.1."""
    assert read(message()) != ()
    assert read(message(**changes)) == ()


def test_message_that_a_later_one_names_is_dropped() -> None:
    """An update refers to what it replaces; both may be in the list."""
    older, newer = message(id="a"), message(id="b", references=[{"identifier": "a"}], severity="Extreme")
    assert [alert.severity for alert in read(older, newer)] == ["Extreme"]


def test_cancellation_takes_what_it_names_with_it() -> None:
    """The cancelled warning is still in the list beside its cancellation."""
    cancel = message(id="b", messageType="Cancel", references=[{"identifier": "a"}])
    assert read(message(id="a"), cancel) == ()


def test_no_alert_is_an_answer() -> None:
    """An empty list is read as none."""
    assert read_alerts(body("none")) == ()


# --- when -----------------------------------------------------------------------------------------------


def test_weather_time_is_taken_not_that_of_the_message() -> None:
    """The message expires eight hours after it was sent, before the frost begins; the frost ends at 9 local."""
    freeze = next(alert for alert in read_alerts(body("normal")) if alert.kind == "freeze")
    assert freeze.onset == datetime(2027, 4, 25, 2, tzinfo=UTC)
    assert freeze.ends == datetime(2027, 4, 25, 13, tzinfo=UTC)


def test_message_time_stands_in_for_the_weather() -> None:
    """Without onset and ends, effective and expires."""
    (alert,) = read(message(onset=None, ends=None, expires="2027-04-25T09:00:00-04:00"))
    assert alert.onset == datetime.fromisoformat(message()["effective"])
    assert alert.ends == datetime(2027, 4, 25, 13, tzinfo=UTC)


def test_message_that_expires_before_its_weather_has_no_end() -> None:
    """`ends` null and `expires` before `onset`: the end is not known yet, rather than before the beginning."""
    wind = read_alerts(body("normal"))[0]
    assert (wind.event, wind.ends) == ("Wind Advisory", None)


@pytest.mark.parametrize(
    ("onset", "ends", "there"),
    [
        (NIGHT[0] - HOUR, NIGHT[0], False),
        (NIGHT[0] - HOUR, NIGHT[0] + HOUR, True),
        (NIGHT[0] + HOUR, NIGHT[0] + 2 * HOUR, True),
        (NIGHT[0] - HOUR, NIGHT[1] + HOUR, True),
        (NIGHT[1], NIGHT[1] + HOUR, False),
        (None, NIGHT[0] + HOUR, True),
        (NIGHT[1] - HOUR, None, True),
        (None, None, True),
    ],
)
def test_alert_in_force_overlaps_the_night(onset: datetime | None, ends: datetime | None, there: bool) -> None:
    """Half-open on both sides; no onset: already there; no end: until further notice."""
    alert = Alert("Freeze Warning", "freeze", onset, ends, "", "Severe", "")
    assert in_force([alert], *NIGHT) == ((alert,) if there else ())


def test_local_night_is_compared_by_instant() -> None:
    """A night in the place's zone meets an alert in UTC."""
    local = [moment.astimezone(Place("", 0, 0, None, "America/New_York").tz) for moment in NIGHT]
    assert [alert.kind for alert in in_force(read_alerts(body("normal")), *local)] == ["wind", "freeze"]


# --- what -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("event", "kind"),
    [
        ("Frost Advisory", "frost"),
        ("Freeze Watch", "freeze"),
        ("FREEZE WARNING", "freeze"),
        ("Hard Freeze Warning", "freeze"),
        ("Extreme Cold Warning", "cold"),
        ("Cold Weather Advisory", "cold"),
        ("Wind Chill Advisory", "cold"),
        ("High Wind Watch", "wind"),
        ("Wind Advisory", "wind"),
        ("Severe Thunderstorm Warning", "thunderstorm"),
        ("Tornado Watch", "thunderstorm"),
        ("Heat Advisory", "heat"),
        ("Excessive Heat Warning", "heat"),
        ("Extreme Heat Watch", "heat"),
        ("Freezing Rain Advisory", "other"),
        ("Heavy Freezing Spray Warning", "other"),
        ("Freezing Fog Advisory", "other"),
        ("Winter Storm Warning", "other"),
        ("Red Flag Warning", "other"),
    ],
)
def test_event_names_are_known(event: str, kind: str) -> None:
    """Names before and after the service's change notice 23-44 (October 2024); the others from memory."""
    assert kind_of(event) == kind


@pytest.mark.parametrize(
    ("code", "kind"), [("FZW", "freeze"), ("FZA", "freeze"), ("CWY", "cold"), ("XXX", "other")]
)
def test_code_helps_where_the_name_does_not(code: str, kind: str) -> None:
    """A name in another language still carries its code; a name that is known wins over the code."""
    assert kind_of("Aviso", code) == kind
    assert kind_of("Heat Advisory", code) == "heat"


def test_old_names_in_recorded_replies_are_read() -> None:
    """Hard Freeze, Wind Chill and Excessive Heat, as before October 2024."""
    assert [alert.kind for alert in read_alerts(body("old-names"))] == ["freeze", "cold", "heat"]


def test_office_severity_and_headline_are_kept() -> None:
    """What the views show."""
    (alert,) = read(message())
    assert (alert.severity, alert.source) == ("Severe", "NWS Buffalo NY")
    assert alert.headline.startswith("Freeze Warning issued")


# --- refusals and requests ------------------------------------------------------------------------------


@pytest.mark.parametrize("data", [b"", b"<html></html>", b'{"type": "FeatureCollection"}', b'{"features": {}}'])
def test_what_is_no_list_of_alerts_is_never_none(data: bytes) -> None:
    """A reply without a list is no all-clear."""
    with pytest.raises(UnreadableError):
        read_alerts(data)


def test_list_cut_off_is_refused() -> None:
    """Half a list might have lost its warning."""
    with pytest.raises(UnreadableError, match="cut off"):
        read_alerts(body("truncated"))


def test_place_outside_is_not_covered() -> None:
    """The service refuses points out of bounds."""
    with pytest.raises(NotCoveredError, match="out of bounds"):
        read_alerts(body("outside"))


def test_request_names_the_point() -> None:
    """Two decimals, the stand-in server of the grid, and no more than a minute in the cache."""
    place = Place("Gorham", 42.94, -77.3, 263.0, "America/New_York")
    one = request(place, ForecastSettings(base_urls={"nws": "http://127.0.0.1:8123"}))
    assert one.url == "http://127.0.0.1:8123/alerts/active?point=42.94,-77.3"
    assert (one.optional, one.keep_s) == (True, 60.0)
