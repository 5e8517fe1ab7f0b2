"""Kept forecasts: bundles and bare bodies, whose they are, where they are for, how old they are."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from validation import compare, outside

from hardenoff.errors import Exit, NoForecastError, UnreadableError
from hardenoff.forecast import FORECAST, READERS, Forecast, Origin, Reply, read_saved, write_bundle
from hardenoff.forecast.checks import EARTH_RADIUS_KM, check_age, check_place, distance_km, freshest_moment
from hardenoff.forecast.frame import finished
from hardenoff.records import Place

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts" / "open-meteo"
GARDEN = Place("Ferry Lane", 42.93456, -77.31234, 262.7, "America/New_York")
FETCHED = datetime(2027, 4, 20, 10, 30, tzinfo=UTC)
BODY = (FOLDER / "old.json").read_bytes()


def bundle(**changes: Any) -> dict[str, Any]:
    """A good bundle, with some of its parts changed; None takes a part away."""
    reply = Reply(FORECAST, "https://api.example/v1?x=1", 200, BODY, {"date": "Tue", "set-cookie": "secret"})
    document = dict(json.loads(write_bundle("open-meteo", [reply], fetched_at=FETCHED, place=GARDEN)))
    for key, value in changes.items():
        target = document["replies"][0] if key in document["replies"][0] else document
        target[key] = value
        if value is None:
            del target[key]
    return document


def packed(document: object) -> bytes:
    return json.dumps(document).encode()


def hours_of(*stamps: str) -> Forecast:
    """A forecast whose index spans the stamps, of a provider that names no place."""
    index = pd.DatetimeIndex(pd.to_datetime(list(stamps), utc=True))
    frame = pd.DataFrame({"air_temperature_c": 5.0}, index=pd.date_range(index[0], index[-1], freq="h"))
    return finished(frame, Origin("open-meteo", "x", None, None, None, None))


# --- bundles -------------------------------------------------------------------------------------------


def test_a_bundle_gives_back_what_the_reader_read() -> None:
    """The hours are those of the body, the times those of the bundle."""
    saved = read_saved(packed(bundle()))
    plain = READERS["open-meteo"].parse({FORECAST: BODY}, fetched_at=FETCHED, headers={})
    pd.testing.assert_frame_equal(saved.forecast.hours, plain.hours)
    assert saved.forecast.origin == plain.origin
    assert (saved.provider, saved.status, saved.as_of, saved.as_of_estimated) == (
        "open-meteo",
        200,
        FETCHED,
        False,
    )


@given(st.binary(max_size=80))
@settings(deadline=None, max_examples=25)
def test_any_body_survives_being_kept(extra: bytes) -> None:
    """Every byte of every role comes back, text or not."""
    replies = [Reply(FORECAST, "u", 200, BODY), Reply("alerts", "v", 203, extra)]
    assert read_saved(write_bundle("open-meteo", replies, fetched_at=FETCHED)).bodies == {
        FORECAST: BODY,
        "alerts": extra,
    }


def test_a_bundle_is_the_same_bytes_each_time() -> None:
    """Nothing of the machine or the clock goes in."""
    reply = Reply(FORECAST, "u", 200, BODY)
    first, second = (write_bundle("open-meteo", [reply], fetched_at=FETCHED) for _ in range(2))
    assert first == second


def test_a_bundle_keeps_no_more_of_the_place_than_two_decimals() -> None:
    """It may be sent to a stranger in a report of a fault."""
    assert bundle()["place"] == {"latitude": 42.93, "longitude": -77.31}


def test_a_bundle_keeps_only_headers_that_tell_the_time() -> None:
    """No cookie, no address of a proxy."""
    assert bundle()["replies"][0]["headers"] == {"date": "Tue"}


def test_headers_reach_the_reader_in_lower_case(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bundle written by hand may spell `Date` as the wire does."""
    seen: dict[str, str] = {}
    reader = READERS["open-meteo"]
    parse = reader.parse

    def spy(bodies: Mapping[str, bytes], *, fetched_at: datetime | None, headers: Mapping[str, str]) -> Forecast:
        seen.update(headers)
        return parse(bodies, fetched_at=fetched_at, headers=headers)

    monkeypatch.setattr(reader, "parse", spy)
    read_saved(packed(bundle(headers={"Date": "Tue"})))
    assert seen == {"date": "Tue"}


def test_as_of_is_the_time_it_was_used_at() -> None:
    """`as_of` may differ from the time of fetching, and wins."""
    later = FETCHED + timedelta(hours=5)
    saved = read_saved(
        write_bundle("open-meteo", [Reply(FORECAST, "u", 200, BODY)], fetched_at=FETCHED, as_of=later)
    )
    assert saved.as_of == later
    assert saved.forecast.origin.fetched_at == FETCHED


def test_a_bundle_without_times_is_dated_by_its_stamps() -> None:
    """No `as_of`, no `fetched_at`: the time is a guess and says so."""
    document = bundle(as_of=None, fetched_at=None)
    saved = read_saved(packed(document))
    assert saved.as_of_estimated
    assert saved.as_of == freshest_moment(saved.forecast.hours.index)


@pytest.mark.parametrize("status", [304, 403, 404, 429, 500, 503])
def test_a_kept_failure_is_named_by_its_status(status: int) -> None:
    """An error page that was saved as a forecast is no forecast."""
    with pytest.raises(UnreadableError, match=f"HTTP status {status}"):
        read_saved(packed(bundle(status=status)))


def test_a_deprecated_service_still_counts() -> None:
    """203 comes with a whole body."""
    assert read_saved(packed(bundle(status=203))).status == 203


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"schema": "hardenoff.forecast/2"}, "forecast/2"),
        ({"provider": "the-neighbour"}, "the-neighbour"),
        ({"provider": None}, "unknown provider"),
        ({"replies": None}, "replies"),
        ({"replies": [7]}, "replies"),
        ({"replies": []}, "role 'forecast'"),
        ({"role": "alerts"}, "role 'forecast'"),
        ({"role": 3}, "role or status"),
        ({"status": "200"}, "role or status"),
        ({"body": None}, "no body"),
        ({"body": "{}"}, "sha256"),
        ({"body": "<html>", "sha256": None}, "web page"),
        ({"sha256": "0" * 64}, "sha256"),
        ({"as_of": "yesterday"}, "as_of"),
        ({"fetched_at": "2027-04-20T06:00:00"}, "fetched_at"),
    ],
)
def test_a_damaged_bundle_is_refused_by_name(changes: dict[str, Any], word: str) -> None:
    """Each part that can be wrong is named; exit code 4."""
    with pytest.raises(UnreadableError, match=word) as caught:
        read_saved(packed(bundle(**changes)), name="kept.json")
    assert caught.value.exit_code == Exit.UNREADABLE


def test_damaged_base64_is_refused() -> None:
    """A body in base64 that lost a character."""
    document = bundle(body=None)
    document["replies"][0]["body_base64"] = "abc"
    with pytest.raises(UnreadableError, match="base64"):
        read_saved(packed(document))


# --- bare bodies ---------------------------------------------------------------------------------------


def test_a_bare_body_is_known_by_its_looks() -> None:
    """No name, no status, no time: the provider is recognised, the time is guessed from the stamps."""
    saved = read_saved((FOLDER / "normal.json").read_bytes())
    assert (saved.provider, saved.status, saved.as_of_estimated) == ("open-meteo", None, True)
    assert saved.forecast.origin.fetched_at is None
    assert saved.as_of == datetime(2027, 4, 20, 23, tzinfo=UTC)


def test_a_bare_body_that_says_when_it_was_made_is_as_of_then() -> None:
    """Where the provider stamps its reply, nothing is guessed."""
    saved = read_saved((FOLDER.parent / "met-norway" / "normal.json").read_bytes())
    assert saved.as_of is not None
    assert (saved.as_of, saved.as_of_estimated) == (saved.forecast.origin.issued_at, False)


@pytest.mark.parametrize("data", [b'{"hello": "world"}', b"[]", b'"text"', b"hello, world"])
def test_what_nobody_knows_is_refused(data: bytes) -> None:
    """The message lists the providers there are, and names the file."""
    with pytest.raises(UnreadableError, match=r"kept\.json") as caught:
        read_saved(data, name="kept.json")
    assert "open-meteo" in f"{caught.value}"


@pytest.mark.parametrize("name", ["empty", "truncated", "html", "error"])
def test_what_is_no_forecast_is_refused(name: str) -> None:
    """Empty, cut off, a web page, an error reply."""
    with pytest.raises(UnreadableError):
        read_saved((FOLDER / f"{name}.json").read_bytes())


@given(past_days=st.integers(0, 92), at_h=st.integers(0, 23))
def test_a_reply_of_sixteen_days_is_never_younger_than_guessed(past_days: int, at_h: int) -> None:
    """With all 16 days ahead the guess is on the day of the request; without past days, at most 2 days after."""
    asked = datetime(2027, 4, 20, at_h, tzinfo=UTC)
    first = datetime(2027, 4, 20, tzinfo=UTC) - timedelta(days=past_days)
    last = datetime(2027, 4, 20, tzinfo=UTC) + timedelta(days=16) - timedelta(hours=1)
    guess = freshest_moment(pd.DatetimeIndex([first, last]))
    assert asked <= guess <= asked + timedelta(days=2 if past_days == 0 else 1)


def test_sixteen_days_to_the_hour_may_hold_two_past_days() -> None:
    """Two past days and fourteen ahead are as long as sixteen ahead: the later moment is taken."""
    days = pd.DatetimeIndex([datetime(2027, 4, 18, tzinfo=UTC), datetime(2027, 5, 3, 23, tzinfo=UTC)])
    assert freshest_moment(days) == datetime(2027, 4, 20, tzinfo=UTC)


def test_a_short_reply_holds_two_past_days_at_most() -> None:
    """Seven days from the 18th can have been asked for on the 20th; three hours not after their last."""
    week = pd.DatetimeIndex([datetime(2027, 4, 18, tzinfo=UTC), datetime(2027, 4, 24, 23, tzinfo=UTC)])
    assert freshest_moment(week) == datetime(2027, 4, 20, tzinfo=UTC)
    assert freshest_moment(hours_of("2027-04-18T00", "2027-04-18T02").hours.index) == datetime(
        2027, 4, 18, 2, tzinfo=UTC
    )


# --- another place -------------------------------------------------------------------------------------


@outside(
    "Williams, *Aviation Formulary* 1.47: Los Angeles to New York, 0.623585 rad (from memory)",
    "distance of two places",
    within="0.000002 rad",
    because="printed to a millionth, a dozen metres",
)
def test_distance_agrees_with_a_published_example() -> None:
    """From airport to airport."""
    got = distance_km(33 + 57 / 60, -(118 + 24 / 60), 40 + 38 / 60, -(73 + 47 / 60))
    compare(got / EARTH_RADIUS_KM, 0.623585)


@outside(
    "mean radius (2a + b) / 3 of the WGS 84 ellipsoid, a = 6378.137, b = 6356.752314 km (from memory)",
    "radius of the earth",
    within="0.0001 km",
    because="the digits that are kept",
)
def test_the_earth_has_its_mean_radius() -> None:
    """As the geodesists define it."""
    compare(EARTH_RADIUS_KM, (2 * 6378.137 + 6356.752314) / 3)


LATITUDES, LONGITUDES = st.floats(-90.0, 90.0), st.floats(-180.0, 180.0)


@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_distance_is_one(lat_a: float, lon_a: float, lat_b: float, lon_b: float) -> None:
    """Symmetric, nought to itself, the same once round the earth, never over half its girth."""
    away = distance_km(lat_a, lon_a, lat_b, lon_b)
    assert away == pytest.approx(distance_km(lat_b, lon_b, lat_a, lon_a), abs=1e-3)
    assert away == pytest.approx(distance_km(lat_a, lon_a + 360.0, lat_b, lon_b), abs=1e-3)
    assert 0.0 <= away <= math.pi * EARTH_RADIUS_KM + 1e-6
    assert distance_km(lat_a, lon_a, lat_a, lon_a) == 0.0


def placed(latitude: float, longitude: float) -> Forecast:
    frame = pd.DataFrame({"air_temperature_c": [5.0]}, index=pd.DatetimeIndex(["2027-04-20T00:00Z"]))
    return finished(frame, Origin("open-meteo", "x", None, None, latitude, longitude))


@pytest.mark.parametrize(("north_km", "refused"), [(0.0, False), (49.0, False), (51.0, True)])
def test_fifty_kilometres_are_the_border(north_km: float, refused: bool) -> None:
    """A degree of latitude is a 360th of the girth."""
    degrees = math.degrees(north_km / EARTH_RADIUS_KM)
    place = Place("Ferry Lane", 42.0, 179.99, None, "UTC")
    if refused:
        with pytest.raises(UnreadableError, match="51 km from Ferry Lane") as caught:
            check_place(placed(42.0 + degrees, 179.99), place)
        assert caught.value.exit_code == Exit.UNREADABLE
    else:
        check_place(placed(42.0 + degrees, 179.99), place)


def test_the_date_line_is_no_border() -> None:
    """179.99 east and 179.99 west are neighbours."""
    check_place(placed(-17.0, -179.99), Place("Taveuni", -17.0, 179.99, None, "Pacific/Fiji"))


def test_a_forecast_that_names_no_place_passes() -> None:
    """A table of one's own is for wherever its owner says."""
    check_place(hours_of("2027-04-20T00"), GARDEN)


def test_a_bundle_says_where_a_placeless_reply_is_for() -> None:
    """The place of the bundle stands in for the grid point that its body doesn't name."""
    body = {key: value for key, value in json.loads(BODY).items() if key not in ("latitude", "longitude")}
    replies = [Reply(FORECAST, "u", 200, packed(body))]
    origin = read_saved(write_bundle("open-meteo", replies, fetched_at=FETCHED, place=GARDEN)).forecast.origin
    assert (origin.latitude, origin.longitude) == (42.93, -77.31)


# --- too old -------------------------------------------------------------------------------------------


def test_the_last_hour_is_still_a_forecast() -> None:
    """One hour left at now is enough; none is exit 3, and the message says how to ask as of then."""
    forecast = hours_of("2027-04-20T00", "2027-04-20T23")
    as_of = datetime(2027, 4, 20, 6, tzinfo=UTC)
    check_age(forecast, now=datetime(2027, 4, 20, 23, 59, tzinfo=UTC), as_of=as_of)
    with pytest.raises(NoForecastError, match="last hour") as caught:
        check_age(forecast, now=datetime(2027, 4, 21, tzinfo=UTC), as_of=as_of)
    assert caught.value.exit_code == Exit.NO_FORECAST
    assert "--now 2027-04-20T06:00Z" in caught.value.fix


def test_thirty_six_hours_are_the_border() -> None:
    """At 36 h it still counts, a minute later it is refused."""
    forecast = hours_of("2027-04-18T00", "2027-05-05T23")
    check_age(forecast, now=FETCHED + timedelta(hours=36), as_of=FETCHED)
    with pytest.raises(NoForecastError, match="36 h old") as caught:
        check_age(forecast, now=FETCHED + timedelta(hours=36, minutes=1), as_of=FETCHED)
    assert "keep the plants inside" in caught.value.fix


def test_an_unknown_time_is_not_an_age() -> None:
    """Without `as_of` only the hours count."""
    check_age(hours_of("2027-04-18T00", "2027-05-05T23"), now=datetime(2027, 5, 5, tzinfo=UTC), as_of=None)


def test_a_fetched_forecast_does_not_speak_of_files() -> None:
    """`--now` helps with a file only."""
    with pytest.raises(NoForecastError) as caught:
        check_age(hours_of("2027-04-18T00"), now=FETCHED, as_of=FETCHED, from_file=False)
    assert "--now" not in caught.value.fix


def test_hours_without_temperature_are_still_hours() -> None:
    """Unknown nights are said night by night, not by refusing the forecast."""
    frame = pd.DataFrame({"air_temperature_c": [np.nan]}, index=pd.DatetimeIndex(["2027-04-20T12:00Z"]))
    check_age(finished(frame, Origin("x", "y", None, None, None, None)), now=FETCHED, as_of=FETCHED)
