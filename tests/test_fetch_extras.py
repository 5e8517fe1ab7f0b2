"""What is asked beside the forecast, and what happens when an address has moved: members, alerts, grid cells.

Shapes as in the providers' documentation (open-meteo.com/en/docs/ensemble-api; weather-gov/api on GitHub, where
users report `Marine Forecast Not Supported` after a silent move of the grid). Weather invented.
"""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import stdev
from time import monotonic

import pytest
from loopback import Loopback, Scripted
from provider_bodies import met_norway, midnight, nws_alerts, nws_grid, nws_points, open_meteo
from test_fetch import BRISK, HOUR, NOW, OHIO, OPEN_METEO, garden, get

from hardenoff.errors import NoForecastError
from hardenoff.fetch import order
from hardenoff.night import nights
from hardenoff.records import ForecastSettings, Garden

ENSEMBLE = "/v1/ensemble"
MEMBERS = (3.0, 5.0, 7.0, 9.0, 11.0, 13.0, 15.0)


def ensemble(now: datetime, *lows_c: float, latitude: float = 40.0) -> bytes:
    """`/v1/ensemble`: a control run and members, each with one temperature all through."""
    names = ["temperature_2m", *(f"temperature_2m_member{n:02d}" for n in range(1, len(lows_c)))]
    stamps = [int((midnight(now) + timedelta(hours=hour)).timestamp()) for hour in range(24 * 15)]
    return json.dumps(
        {
            "latitude": latitude,
            "longitude": -83.0,
            "utc_offset_seconds": 0,
            "timezone": "GMT",
            "hourly_units": {"time": "unixtime", **dict.fromkeys(names, "°C")},
            "hourly": {
                "time": stamps,
                **{name: [low_c] * len(stamps) for name, low_c in zip(names, lows_c, strict=True)},
            },
        }
    ).encode()


@pytest.fixture
def server() -> Iterator[Loopback]:
    with Loopback() as running:
        running.play(OPEN_METEO, Scripted(open_meteo(NOW)))
        running.play(ENSEMBLE, Scripted(ensemble(NOW, *MEMBERS)))
        running.play("/weatherapi", Scripted(met_norway(NOW)))
        yield running


def with_members(server: Loopback, *sources: str) -> Garden:
    """A garden whose stand-in server has members as well."""
    plot = garden(server, *sources)
    urls = {**plot.forecast.base_urls, "open-meteo-ensemble": server.url}
    return replace(plot, forecast=replace(plot.forecast, base_urls=urls))


# --- ensemble members ----------------------------------------------------------------------------------


def test_members_are_asked_for_after_the_forecast(server: Loopback, tmp_path: Path) -> None:
    """Forecast, then members, then the second opinion; one request each, one at a time."""
    got = get(with_members(server, "open-meteo", "met-norway"), tmp_path)
    assert [one.path.split("?")[0] for one in server.asked()] == [
        OPEN_METEO,
        ENSEMBLE,
        "/weatherapi/locationforecast/2.0/complete",
    ]
    assert server.most_at_once() == 1
    assert got.forecast.members_c is not None
    assert got.forecast.members_c.shape == (len(got.forecast.hours), 7)


def test_members_stand_on_their_night(server: Loopback, tmp_path: Path) -> None:
    """Each member's low of the coming night is its own steady temperature."""
    got = get(with_members(server), tmp_path)
    (night,) = nights(got.forecast, OHIO, NOW.date(), NOW.date())
    assert night.member_lows_c == MEMBERS
    assert stdev(night.member_lows_c) == pytest.approx(4.3205, abs=1e-4)  # 2 x sqrt(28 / 6), by hand


def test_members_are_kept_for_their_three_hours(server: Loopback, tmp_path: Path) -> None:
    """Two hours later the forecast is asked for again, its members are not."""
    plot = with_members(server)
    get(plot, tmp_path)
    got = get(plot, tmp_path, after=2 * HOUR)
    assert len(server.asked(OPEN_METEO)) == 2
    assert len(server.asked(ENSEMBLE)) == 1
    assert got.forecast.members_c is not None


def test_members_are_there_offline(server: Loopback, tmp_path: Path) -> None:
    """What was kept of both answers together."""
    plot = with_members(server)
    get(plot, tmp_path)
    asked = len(server.asked())
    got = get(plot, tmp_path, after=20 * HOUR, offline=True)
    assert got.forecast.members_c is not None
    assert len(server.asked()) == asked


@pytest.mark.parametrize(
    ("reply", "said"),
    [
        (Scripted(b"", 404), "ensemble: HTTP 404"),
        (
            Scripted(b'{"error":true,"reason":"No data is available for this location"}', 400),
            "No data is available",
        ),
        (Scripted(b"<html>busy</html>", 502, {"Content-Type": "text/html"}), "HTTP 502"),
        (Scripted(open_meteo(NOW)), "members with values"),
        (Scripted(ensemble(NOW, *MEMBERS, latitude=51.0)), "km away"),
        (Scripted(ensemble(NOW, *MEMBERS)[:900]), "cut off"),
    ],
    ids=["not there", "no data", "busy", "a forecast", "another place", "cut off"],
)
def test_without_members_the_forecast_stands(server: Loopback, tmp_path: Path, reply: Scripted, said: str) -> None:
    """Whatever comes in their place is said and costs nothing else."""
    server.play(ENSEMBLE, reply)
    got = get(with_members(server), tmp_path)
    assert got.note.status == "fresh"
    assert got.forecast.members_c is None
    assert any(said in note for note in got.note.notes), got.note.notes


def test_slow_members_are_not_waited_for(
    server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the forecast can be read without has a short time of its own, within that of all."""
    monkeypatch.setattr(order, "EXTRA_S", 0.3)
    server.play(ENSEMBLE, Scripted(delay_s=5.0))
    began = monotonic()
    got = get(with_members(server), tmp_path, manners=replace(BRISK, read_s=20.0))
    assert monotonic() - began < 2.0
    assert any("ensemble: no answer in time" in note for note in got.note.notes)


def test_a_stand_in_is_not_asked_for_what_it_need_not_have(server: Loopback, tmp_path: Path) -> None:
    """A server named for `open-meteo` alone is asked for the forecast alone, and nobody else is."""
    get(garden(server), tmp_path)
    assert [one.path.split("?")[0] for one in server.asked()] == [OPEN_METEO]


def test_members_survive_in_a_bundle(server: Loopback, tmp_path: Path) -> None:
    """What was saved has the role `ensemble`, and tells the same spread."""
    live = get(with_members(server), tmp_path)
    path = tmp_path / "kept.json"
    path.write_bytes(live.bundle())
    assert [reply["role"] for reply in json.loads(path.read_text())["replies"]] == ["forecast", "ensemble"]
    again = get(with_members(server), tmp_path, file=path)
    assert live.forecast.members_c is not None
    assert again.forecast.members_c is not None
    assert again.forecast.members_c.equals(live.forecast.members_c)


def test_naming_members_alone_sends_the_forecast_nowhere_else(tmp_path: Path) -> None:
    """It is no source: the order of sources is that of the place."""
    plot = ForecastSettings(base_urls={"open-meteo-ensemble": "http://127.0.0.1:9"})
    assert order.source_order(OHIO, plot) == ("open-meteo", "nws")


# --- a grid that moved ---------------------------------------------------------------------------------

MARINE = Scripted(
    json.dumps(
        {
            "type": "https://api.weather.gov/problems/MarineForecastNotSupported",
            "title": "Marine Forecast Not Supported",
            "status": 404,
            "detail": "Forecasts for marine areas are not yet supported by this API.",
        }
    ).encode(),
    404,
    {"Content-Type": "application/problem+json"},
)
OLD_CELL, NEW_CELL = "/gridpoints/ILN/81,83", "/gridpoints/ILN/80,84"


@pytest.fixture
def nws() -> Iterator[Loopback]:
    with Loopback() as running:
        running.play("/points", Scripted(nws_points("https://api.weather.gov")))
        running.play(OLD_CELL, Scripted(nws_grid(NOW)))
        running.play("/alerts", Scripted(nws_alerts(NOW)))
        yield running


def move(nws: Loopback) -> None:
    """The office draws its grid anew: the old cell is sea now."""
    nws.play(OLD_CELL, MARINE)
    nws.play(NEW_CELL, Scripted(nws_grid(NOW, air_c=4.0)))
    nws.play("/points", Scripted(nws_points("https://api.weather.gov").replace(b"81,83", b"80,84")))


def test_a_grid_that_moved_is_looked_for_again(nws: Loopback, tmp_path: Path) -> None:
    """The kept `/points` reply, good for a week, is dropped at the 404, and the new cell is asked in its stead."""
    get(garden(nws, "nws"), tmp_path)
    move(nws)
    got = get(garden(nws, "nws"), tmp_path, after=24 * HOUR)
    assert got.note.status == "fresh"
    assert got.forecast.hours["air_temperature_c"].loc[NOW + 24 * HOUR] == 4.0
    assert len(nws.asked("/points")) == 2
    assert nws.most_at_once() == 1


def test_the_new_cell_is_remembered(nws: Loopback, tmp_path: Path) -> None:
    """The run after it asks the new cell at once."""
    get(garden(nws, "nws"), tmp_path)
    move(nws)
    get(garden(nws, "nws"), tmp_path, after=24 * HOUR)
    before = len(nws.asked())
    get(garden(nws, "nws"), tmp_path, after=32 * HOUR)
    later = [one.path.split("?")[0] for one in nws.asked()[before:]]
    assert sorted(later) == ["/alerts/active", NEW_CELL]


def test_a_cell_that_is_gone_and_not_elsewhere_is_not_asked_twice(nws: Loopback, tmp_path: Path) -> None:
    """`/points` still names the old cell: the kept forecast answers, after one look."""
    get(garden(nws, "nws"), tmp_path)
    nws.play(OLD_CELL, MARINE)
    got = get(garden(nws, "nws"), tmp_path, after=20 * HOUR)
    assert got.note.status == "stale"
    assert any("404" in note for note in got.note.notes)
    assert len(nws.asked(OLD_CELL)) == 2
    assert len(nws.asked("/points")) == 2


def test_a_first_404_is_final(nws: Loopback, tmp_path: Path) -> None:
    """Where `/points` was asked in this very run there is nothing to look up again."""
    nws.play(OLD_CELL, MARINE)
    with pytest.raises(NoForecastError, match="404"):
        get(garden(nws, "nws"), tmp_path)
    assert len(nws.asked("/points")) == len(nws.asked(OLD_CELL)) == 1


# --- bundles -------------------------------------------------------------------------------------------


def test_second_opinions_are_in_the_bundle(server: Loopback, tmp_path: Path) -> None:
    """Another source's hours come back, with the time they were fetched."""
    plot = garden(server, "open-meteo", "met-norway")
    live = get(plot, tmp_path)
    path = tmp_path / "kept.json"
    path.write_bytes(live.bundle())
    again = get(plot, tmp_path, file=path)
    assert [other.origin for other in again.others] == [other.origin for other in live.others]
    assert again.others[0].hours.equals(live.others[0].hours)


def test_saving_a_saved_run_keeps_all_of_it(server: Loopback, tmp_path: Path) -> None:
    """A bundle of a bundle tells the same."""
    plot = garden(server, "open-meteo", "met-norway")
    path, copy = tmp_path / "kept.json", tmp_path / "copy.json"
    path.write_bytes(get(plot, tmp_path).bundle())
    once = get(plot, tmp_path, file=path)
    copy.write_bytes(once.bundle())
    twice = get(plot, tmp_path, file=copy)
    assert twice.note == once.note
    assert twice.others[0].hours.equals(once.others[0].hours)


def test_alerts_of_a_second_source_are_in_the_bundle(server: Loopback, tmp_path: Path) -> None:
    """A freeze warning that came beside the second opinion still brings plants in on replay."""
    server.play("/points", Scripted(nws_points("https://api.weather.gov")))
    server.play("/gridpoints", Scripted(nws_grid(NOW)))
    server.play("/alerts", Scripted(nws_alerts(NOW, "Freeze Warning")))
    plot = garden(server, "open-meteo", "nws")
    live = get(plot, tmp_path)
    path = tmp_path / "kept.json"
    path.write_bytes(live.bundle())
    again = get(plot, tmp_path, file=path)
    assert [alert.event for alert in again.alerts] == ["Freeze Warning"]
    assert again.alerts == live.alerts


def test_a_copy_that_was_kept_for_a_day_is_no_younger_for_being_saved(server: Loopback, tmp_path: Path) -> None:
    """A reply of 20 hours ago, saved offline now, is 20 hours old in the file, and ends at its own 36 hours."""
    plot = garden(server)
    get(plot, tmp_path)
    path = tmp_path / "kept.json"
    path.write_bytes(get(plot, tmp_path, after=20 * HOUR, offline=True).bundle())
    assert get(plot, tmp_path, after=20 * HOUR, file=path).note.age_hours == pytest.approx(20.0)
    with pytest.raises(NoForecastError, match="37 h old"):
        get(plot, tmp_path, after=37 * HOUR, file=path)


def test_a_second_opinion_in_a_file_ends_at_its_own_36_hours(server: Loopback, tmp_path: Path) -> None:
    """Kept for 20 hours beside a new forecast when saved: 20 hours later the one still counts, the other not."""
    plot = garden(server, "open-meteo", "met-norway")
    get(plot, tmp_path)
    server.play("/weatherapi", Scripted(b"", 404))
    path = tmp_path / "kept.json"
    path.write_bytes(get(plot, tmp_path, after=20 * HOUR).bundle())
    assert len(get(plot, tmp_path, after=20 * HOUR, file=path).others) == 1
    later = get(plot, tmp_path, after=40 * HOUR, file=path)
    assert (later.note.age_hours, later.others) == (pytest.approx(20.0), ())


# --- no network ----------------------------------------------------------------------------------------


def test_offline_opens_no_socket_at_all(server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not to look up a name, not to a stand-in on this machine: no socket object is made."""
    plot = with_members(server, "open-meteo", "met-norway")
    get(plot, tmp_path)

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a socket in an offline run")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    got = get(plot, tmp_path, after=3 * HOUR, offline=True)
    assert (got.note.status, got.note.age_hours) == ("cached", 3.0)
    assert datetime(2027, 4, 21, tzinfo=UTC) in got.forecast.hours.index
