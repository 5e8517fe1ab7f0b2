"""Everything that can go wrong between here and a provider: never a traceback, a hang, or yesterday's `safe`.

Each fault is played by a server on 127.0.0.1 with short time-outs, first without anything kept (the run fails
with exit 3 and says why), then on top of a good kept reply (which must survive and answer with its age).
"""

from __future__ import annotations

import gzip
import itertools
import json
import os
import socket
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from pathlib import Path
from time import monotonic, sleep

import pytest
from loopback import Loopback, Scripted
from provider_bodies import met_norway, nws_alerts, nws_grid, nws_points, open_meteo
from test_fetch import BRISK, HOUR, NOW, OPEN_METEO, garden, get

from hardenoff.errors import Exit, NoForecastError
from hardenoff.fetch import adapter, shelf

GOOD = Scripted(open_meteo(NOW))
HTML = Scripted(b"<html><body>Access Denied</body></html>", 403, {"Content-Type": "text/html"})
PROBLEM = {"Content-Type": "application/problem+json"}
GRID_EXPIRED = json.dumps(
    {
        "type": "https://api.weather.gov/problems/ForecastGridExpired",
        "title": "Forecast Grid Expired",
        "status": 503,
        "detail": "The requested forecast grid was issued 2027-04-18T01:13:17+00:00 and has expired.",
    }
).encode()


def _without(body: bytes, **changes: object) -> bytes:
    """The reply with the hourly columns changed."""
    document = json.loads(body)
    document["hourly"].update(changes)
    return json.dumps(document).encode()


FAULTS = {
    "slow headers": (Scripted(GOOD.body, delay_s=3.0), "no answer in time"),
    "slow body": (Scripted(pieces=itertools.repeat(b" "), drip_s=0.05), "no answer in time"),
    "429 for six hours": (Scripted(b"", 429, {"Retry-After": "21600"}), "HTTP 429"),
    "500": (Scripted(b"", 500), "HTTP 500"),
    "503 problem": (Scripted(GRID_EXPIRED, 503, PROBLEM), r"HTTP 503 \(Forecast Grid Expired\)"),
    "400 with a reason": (
        Scripted(b'{"error":true,"reason":"Latitude must be in range of -90 to 90"}', 400),
        "Latitude must be",
    ),
    "403 page": (HTML, "HTTP 403"),
    "200 page": (replace(HTML, status=200), "a web page"),
    "cut JSON": (Scripted(GOOD.body[: len(GOOD.body) // 2]), "cut off"),
    "connection cut": (replace(GOOD, cut_after=1000), "the reply broke off"),
    "broken gzip": (
        Scripted(gzip.compress(GOOD.body)[:-400] + b"x" * 400, headers={"Content-Encoding": "gzip"}),
        "damaged",
    ),
    "no gzip at all": (Scripted(GOOD.body, headers={"Content-Encoding": "gzip"}), "compression"),
    "200 with error": (Scripted(b'{"error":true,"reason":"Daily API request limit exceeded"}'), "limit exceeded"),
    "no hours": (Scripted(_without(GOOD.body, time=[], temperature_2m=[])), "hour"),
    "all null": (Scripted(open_meteo(NOW, air_c=None)), "no air temperature"),
    "null from now on": (
        Scripted(_without(GOOD.body, temperature_2m=[9.0] * (48 + NOW.hour) + [None] * (384 - NOW.hour))),
        "no air temperature",
    ),
    "another place": (Scripted(open_meteo(NOW, latitude=51.0)), "km from"),
    "last week's": (Scripted(open_meteo(NOW - timedelta(days=20))), "last hour"),
    "long body": (Scripted(pieces=itertools.repeat(b" " * 65536)), "MB is no forecast"),
    "long body, told": (Scripted(GOOD.body, headers={"X": "y"}), "a reply of 0 MB is no forecast"),
    "empty": (Scripted(b""), "empty"),
    "nested without end": (Scripted(b"[" * 200_000), "nest"),
}
"""Fault -> what the server plays, and what the grower reads."""


@pytest.fixture
def server() -> Iterator[Loopback]:
    with Loopback() as running:
        running.play(OPEN_METEO, GOOD)
        yield running


def faulty(server: Loopback, fault: str) -> str:
    """Let the server play the fault from now on; what the message must match."""
    reply, words = FAULTS[fault]
    server.play(OPEN_METEO, reply)
    return words


def manners_for(fault: str) -> object:
    """Bounds as for the other tests; a body over 100 kB counts as long where that is the fault."""
    return replace(BRISK, most_bytes=10_000) if fault == "long body, told" else BRISK


@pytest.mark.parametrize("fault", FAULTS)
def test_fault_with_nothing_kept(server: Loopback, tmp_path: Path, fault: str) -> None:
    """Exit 3, why, and 'keep inside'; within the deadline; at most three requests."""
    words = faulty(server, fault)
    began = monotonic()
    with pytest.raises(NoForecastError, match=words) as caught:
        get(garden(server), tmp_path, manners=manners_for(fault), deadline_s=2.0)
    assert caught.value.exit_code == Exit.NO_FORECAST
    assert "keep inside" in caught.value.fix
    assert monotonic() - began < 2.5
    assert len(server.asked()) <= 3


@pytest.mark.parametrize("fault", FAULTS)
def test_fault_leaves_the_kept_reply(server: Loopback, tmp_path: Path, fault: str) -> None:
    """The good reply of two hours ago answers, now and offline later; the fault is said, not hidden."""
    get(garden(server), tmp_path)
    faulty(server, fault)
    got = get(garden(server), tmp_path, after=2 * HOUR, manners=manners_for(fault), deadline_s=2.0)
    assert (got.note.status, got.note.age_hours) == ("cached", 2.0)
    assert any(note.startswith("open-meteo: ") for note in got.note.notes)
    later = get(garden(server), tmp_path, after=30 * HOUR, offline=True)
    assert (later.note.status, later.note.age_hours) == ("stale", 30.0)
    assert later.forecast.hours["air_temperature_c"].loc[NOW] == 9.0


@pytest.mark.parametrize("fault", ["503 problem", "403 page", "slow headers", "cut JSON"])
def test_fault_leads_to_the_next_source(server: Loopback, tmp_path: Path, fault: str) -> None:
    """A source that fails doesn't use up the time of the one behind it."""
    faulty(server, fault)
    server.play("/weatherapi", Scripted(met_norway(NOW)))
    got = get(garden(server, "open-meteo", "met-norway"), tmp_path, deadline_s=2.0)
    assert (got.note.provider, got.note.status) == ("met-norway", "fresh")


def test_a_hanging_source_leaves_time_for_the_next(server: Loopback, tmp_path: Path) -> None:
    """With a read time-out longer than the deadline, the first of two sources gets half of it."""
    server.play(OPEN_METEO, Scripted(GOOD.body, delay_s=5.0))
    server.play("/weatherapi", Scripted(met_norway(NOW)))
    began = monotonic()
    plot = garden(server, "open-meteo", "met-norway")
    got = get(plot, tmp_path, deadline_s=2.0, manners=replace(BRISK, read_s=20.0))
    assert got.note.provider == "met-norway"
    assert 0.9 < monotonic() - began < 1.8


def test_a_time_out_is_not_tried_again(server: Loopback, tmp_path: Path) -> None:
    """Who was too slow once gets no second request: the time is for the next source."""
    faulty(server, "slow headers")
    with pytest.raises(NoForecastError):
        get(garden(server), tmp_path)
    assert len(server.asked()) == 1


def test_a_host_that_drips_is_hung_up_on(server: Loopback, tmp_path: Path) -> None:
    """A body that never ends is left when time is up, also by the thread that read it."""
    faulty(server, "slow body")
    with pytest.raises(NoForecastError):
        get(garden(server), tmp_path, deadline_s=0.5)
    until = monotonic() + 2.0
    (asked,) = server.asked()
    while asked.ended is None and monotonic() < until:
        sleep(0.02)
    assert asked.ended is not None


# --- no connection -----------------------------------------------------------------------------------


def test_connection_refused(server: Loopback, tmp_path: Path) -> None:
    """Nobody listens there."""
    server.stop()
    with pytest.raises(NoForecastError, match="connection refused"):
        get(garden(server), tmp_path)


def test_name_cannot_be_looked_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No name service: said as such, twice asked at most."""
    asked = []

    def nobody_knows(host: str, *_: object, **__: object) -> None:
        asked.append(host)
        raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")

    monkeypatch.setattr(socket, "getaddrinfo", nobody_knows)
    with pytest.raises(NoForecastError, match="name can't be looked up"):
        get(garden(_Nowhere), tmp_path)
    assert asked == ["nowhere.invalid"] * 2


def test_name_service_that_hangs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Looking up a name heeds no time-out of sockets; the deadline holds all the same."""
    import threading

    over = threading.Event()

    def hangs(*_: object, **__: object) -> None:
        over.wait(5.0)
        raise socket.gaierror(socket.EAI_AGAIN, "Temporary failure in name resolution")

    monkeypatch.setattr(socket, "getaddrinfo", hangs)
    began = monotonic()
    with pytest.raises(NoForecastError, match="no answer in time"):
        get(garden(_Nowhere), tmp_path, deadline_s=1.0, manners=replace(BRISK, read_s=20.0))
    over.set()
    assert monotonic() - began < 1.5


@pytest.mark.parametrize("address", ["ftp://127.0.0.1", "127.0.0.1:80", "http://", "http://[::1", "nonsense"])
def test_address_that_is_none(tmp_path: Path, address: str) -> None:
    """A base_url that no request can be sent to."""

    class Odd:
        url = address

    with pytest.raises(NoForecastError, match="address"):
        get(garden(Odd), tmp_path)


# --- retries -----------------------------------------------------------------------------------------


def test_500_then_200(server: Loopback, tmp_path: Path) -> None:
    """A passing fault is gone at the second try."""
    server.play(OPEN_METEO, Scripted(status=500), GOOD)
    assert get(garden(server), tmp_path).note.status == "fresh"
    assert len(server.asked()) == 2


def test_a_reply_that_breaks_off_is_tried_again(server: Loopback, tmp_path: Path) -> None:
    """So is a body that was cut."""
    server.play(OPEN_METEO, replace(GOOD, cut_after=500), GOOD)
    assert get(garden(server), tmp_path).note.status == "fresh"


def test_retry_after_three_seconds(server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """429 with Retry-After 3: one more request, and not sooner."""
    pauses: list[float] = []
    monkeypatch.setattr(adapter, "sleep", pauses.append)
    server.play(OPEN_METEO, Scripted(status=429, headers={"Retry-After": "3"}), GOOD)
    assert get(garden(server), tmp_path).note.status == "fresh"
    assert pauses == [3.0]


def test_retry_after_six_hours_is_heeded_by_going_away(server: Loopback, tmp_path: Path) -> None:
    """429 with Retry-After 21600: no second request, and no wait."""
    faulty(server, "429 for six hours")
    began = monotonic()
    with pytest.raises(NoForecastError):
        get(garden(server), tmp_path)
    assert len(server.asked()) == 1
    assert monotonic() - began < 1.0


@pytest.mark.parametrize(("status", "requests"), [(403, 1), (404, 1), (429, 2), (503, 2), (500, 3), (502, 3)])
def test_tries_by_status(server: Loopback, tmp_path: Path, status: int, requests: int) -> None:
    """A final refusal is not repeated; "too many" and "not now" get one more request; other faults two."""
    server.play(OPEN_METEO, Scripted(status=status))
    with pytest.raises(NoForecastError):
        get(garden(server), tmp_path)
    assert len(server.asked()) == requests
    assert server.most_at_once() == 1


def test_words_of_a_provider_cannot_steer_the_terminal(server: Loopback, tmp_path: Path) -> None:
    """Control characters of an error text are blanked, its length is bounded."""
    reason = "\x1b[2J\x1b]0;owned\x07" + "x" * 500
    server.play(OPEN_METEO, Scripted(json.dumps({"reason": reason}).encode(), 400))
    with pytest.raises(NoForecastError) as caught:
        get(garden(server), tmp_path)
    assert "\x1b" not in caught.value.what
    assert "\x07" not in caught.value.what
    assert len(caught.value.what) < 200


# --- other providers' faults ---------------------------------------------------------------------------


def test_nws_with_empty_layers(server: Loopback, tmp_path: Path) -> None:
    """A grid whose layers are all empty is no forecast, and does not replace the good one."""
    plot = garden(server, "nws")
    server.play("/points", Scripted(nws_points(server.url)))
    server.play("/alerts", Scripted(nws_alerts(NOW)))
    server.play("/gridpoints", Scripted(nws_grid(NOW)), Scripted(nws_grid(NOW, values=False)))
    get(plot, tmp_path)
    got = get(plot, tmp_path, after=2 * HOUR)
    assert (got.note.status, got.note.age_hours) == ("cached", 2.0)


def test_an_address_that_cannot_be_read_is_not_kept(server: Loopback, tmp_path: Path) -> None:
    """A `/points` reply that names no grid would otherwise be in the way for a week."""
    server.play(
        "/points", Scripted(b'{"properties": {"forecastGridData": "?"}}'), Scripted(nws_points(server.url))
    )
    server.play("/gridpoints", Scripted(nws_grid(NOW)))
    server.play("/alerts", Scripted(nws_alerts(NOW)))
    with pytest.raises(NoForecastError):
        get(garden(server, "nws"), tmp_path)
    assert get(garden(server, "nws"), tmp_path).note.status == "fresh"


def test_nws_outside_the_us(server: Loopback, tmp_path: Path) -> None:
    """404 for a place that is not served leads to the next source without a second request."""
    server.play("/points", Scripted(b'{"title":"Data Unavailable For Requested Point"}', 404, PROBLEM))
    server.play("/alerts", Scripted(nws_alerts(NOW)))
    server.play("/weatherapi", Scripted(met_norway(NOW)))
    got = get(garden(server, "nws", "met-norway"), tmp_path)
    assert got.note.provider == "met-norway"
    assert (len(server.asked("/points")), len(server.asked("/alerts"))) == (1, 0)


@pytest.mark.parametrize("fault", [Scripted(status=404), Scripted(b"<html>"), Scripted(b'{"features": 3}')])
def test_alerts_that_fail_leave_the_kept_ones(server: Loopback, tmp_path: Path, fault: Scripted) -> None:
    """A freeze warning of two hours ago stands while its office is not reached; the failure is said."""
    plot = garden(server, "nws")
    server.play("/points", Scripted(nws_points(server.url)))
    server.play("/gridpoints", Scripted(nws_grid(NOW)))
    server.play("/alerts", Scripted(nws_alerts(NOW, "Freeze Warning")), fault)
    get(plot, tmp_path)
    got = get(plot, tmp_path, after=2 * HOUR)
    assert [alert.event for alert in got.alerts] == ["Freeze Warning"]
    assert any("nws, alerts: " in note and "2.0 h ago stands in" in note for note in got.note.notes)
    assert got.note.status == "fresh"


def test_alerts_of_the_day_before_yesterday_are_dropped(server: Loopback, tmp_path: Path) -> None:
    """The forecast may be young enough while the alerts beside it are not."""
    plot = garden(server, "nws")
    server.play("/points", Scripted(nws_points(server.url)))
    server.play("/gridpoints", Scripted(nws_grid(NOW)), Scripted(nws_grid(NOW + 30 * HOUR)))
    server.play("/alerts", Scripted(nws_alerts(NOW, "Freeze Warning")), Scripted(status=404))
    for hours in (0, 30):
        get(plot, tmp_path, after=hours * HOUR)
    got = get(plot, tmp_path, after=40 * HOUR, offline=True)
    assert (got.note.age_hours, got.alerts) == (10.0, ())
    assert any("alerts: the kept reply is 40.0 h old" in note for note in got.note.notes)


# --- clocks ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("hours", "way"), [(-5, "ahead of"), (5, "behind")])
def test_clock_skew(server: Loopback, tmp_path: Path, hours: int, way: str) -> None:
    """A server whose clock is hours off: said, and its Expires is read by its own clock."""
    date = datetime.now(UTC) + hours * HOUR
    stamps = {"Date": date, "Expires": date + 0.5 * HOUR}
    headers = {name: format_datetime(moment, usegmt=True) for name, moment in stamps.items()}
    server.play(OPEN_METEO, replace(GOOD, headers=headers))
    got = get(garden(server), tmp_path)
    assert any(f"clock is 5.0 h {way}" in note for note in got.note.notes)
    assert got.note.age_hours == 0.0
    assert get(garden(server), tmp_path, after=0.4 * HOUR).note.status == "cached"
    assert get(garden(server), tmp_path, after=0.6 * HOUR).note.status == "fresh"


# --- the cache file ----------------------------------------------------------------------------------


@pytest.mark.parametrize("damage", ["not a database", "page in the middle", "a row"])
def test_damaged_cache(server: Loopback, tmp_path: Path, damage: str) -> None:
    """A damaged cache is moved aside or read around, with a note; the run goes on and the next one is well."""
    get(garden(server), tmp_path)
    path = tmp_path / shelf.DATABASE
    if damage == "not a database":
        path.write_bytes(b"not a database" * 5000)
    elif damage == "page in the middle":
        data = bytearray(path.read_bytes())
        data[4096 * 3 : 4096 * 6] = os.urandom(4096 * 3)
        path.write_bytes(data)
    else:
        with sqlite3.connect(path) as connection:
            connection.execute("UPDATE responses SET value = '{\"headers\": 3}'")
        connection.close()
    got = get(garden(server), tmp_path, after=2 * HOUR)
    assert got.note.status == "fresh"
    assert any("damaged" in note or "could not be read" in note for note in got.note.notes)
    assert (tmp_path / shelf.DAMAGED).exists() == (damage != "a row")
    again = get(garden(server), tmp_path, after=2 * HOUR)
    assert again.note.status == "cached"
    assert not any("damaged" in note for note in again.note.notes)


def test_locked_cache(server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program holds the cache: the run answers from the network and says that nothing is kept."""
    monkeypatch.setattr(shelf, "LOCK_WAIT_S", 0.1)
    get(garden(server), tmp_path)
    holder = sqlite3.connect(tmp_path / shelf.DATABASE, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    began = monotonic()
    got = get(garden(server), tmp_path, after=2 * HOUR)
    stale = get(garden(server), tmp_path, after=20 * HOUR, offline=True)
    holder.rollback()
    holder.close()
    assert got.note.status == "fresh"
    assert any("not kept" in note for note in got.note.notes)
    assert (stale.note.status, stale.note.age_hours) == ("stale", 20.0)
    assert monotonic() - began < 3.0


def test_lock_that_comes_in_mid_run(server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A lock between opening and keeping costs the keeping, not the answer."""
    monkeypatch.setattr(shelf, "LOCK_WAIT_S", 0.1)
    holder = sqlite3.connect(tmp_path / shelf.DATABASE, isolation_level=None, check_same_thread=False)

    class Locks(dict):  # type: ignore[type-arg]
        def items(self) -> object:
            holder.execute("BEGIN IMMEDIATE")
            return super().items()

    server.play(OPEN_METEO, replace(GOOD, headers=Locks(GOOD.headers)))
    got = get(garden(server), tmp_path)
    holder.rollback()
    holder.close()
    assert got.note.status == "fresh"
    assert any("not kept" in note for note in got.note.notes)


def test_read_only_cache(server: Loopback) -> None:
    """A cache that may be read and not written still answers offline; live runs say that nothing is kept."""
    with _folder_of_nobody() as folder:
        get(garden(server), folder, archive=False)
        (folder / shelf.DATABASE).chmod(0o444)
        folder.chmod(0o555)
        with _without_privileges():
            stale = get(garden(server), folder, after=20 * HOUR, offline=True)
            server.play("/weatherapi", Scripted(met_norway(NOW)))
            live = get(garden(server, "open-meteo", "met-norway"), folder, after=2 * HOUR, archive=False)
        folder.chmod(0o777)
    assert (stale.note.status, stale.note.age_hours) == ("stale", 20.0)
    assert live.note.status == "fresh"
    assert [note for note in live.note.notes if "not kept" in note] == [
        "the reply was not kept (attempt to write a readonly database)"
    ]


def test_no_folder_for_the_cache(server: Loopback, tmp_path: Path) -> None:
    """A file stands where the folder should be: the run does without, with a note."""
    (tmp_path / "cache").write_text("in the way")
    got = get(garden(server), tmp_path / "cache", archive=False)
    assert got.note.status == "fresh"
    assert any(note.startswith("no cache") for note in got.note.notes)


def test_nothing_reaches_the_screen(tmp_path: Path) -> None:
    """No library writes its tracebacks, or what it finds in a damaged cache, to the terminal."""
    program = (
        "import sys, sqlite3, pathlib; sys.path.insert(0, sys.argv[2])\n"
        "from test_fetch_faults import *\n"
        "folder = pathlib.Path(sys.argv[1])\n"
        "with Loopback() as server:\n"
        "    server.play(OPEN_METEO, GOOD, Scripted(status=500))\n"
        "    get(garden(server), folder)\n"
        "    assert get(garden(server), folder, after=2 * HOUR).note.status == 'cached'\n"
        "    with sqlite3.connect(folder / shelf.DATABASE) as connection:\n"
        "        connection.execute(\"UPDATE responses SET value = 'no JSON'\")\n"
        "    server.play(OPEN_METEO, GOOD)\n"
        "    assert get(garden(server), folder, after=2 * HOUR).note.status == 'fresh'\n"
    )
    command = [sys.executable, "-c", program, str(tmp_path), str(Path(__file__).parent)]
    run = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    assert (run.returncode, run.stdout, run.stderr) == (0, "", "")


class _Nowhere:
    url = "http://nowhere.invalid"


@contextmanager
def _folder_of_nobody() -> Iterator[Path]:
    """A folder that another user can reach, which pytest's own are not."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o777)
        yield Path(name)


@contextmanager
def _without_privileges() -> Iterator[None]:
    """File permissions don't bind root: be nobody for the block."""
    if os.name != "posix" or os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)
