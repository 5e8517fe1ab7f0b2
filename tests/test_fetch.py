"""Getting a forecast: order of sources, what is kept and for how long, files, offline, manners, archive.

Published sources: RFC 9110 (Retry-After, conditional requests), RFC 9111 (freshness), MET Norway's terms
(metno/weatherapi-docs 2023: no repeat before Expires, then If-Modified-Since as given). Other bounds are ours.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter

import pytest
import requests
from loopback import Loopback, Scripted
from provider_bodies import met_norway, nws_alerts, nws_grid, nws_points, open_meteo
from validation import compare, outside

from hardenoff.errors import Exit, NoForecastError, UnreadableError, UsageError
from hardenoff.fetch import Obtained, obtain
from hardenoff.fetch.answer import Answer, NoAnswer
from hardenoff.fetch.archive import line
from hardenoff.fetch.folders import cache_folder, state_folder
from hardenoff.fetch.manners import Manners, life_s, pause_s, wait_told_s
from hardenoff.fetch.source import Source
from hardenoff.forecast.alerts import ATTRIBUTION
from hardenoff.forecast.open_meteo import OpenMeteo
from hardenoff.forecast.reader import Request
from hardenoff.forecast.registry import READERS
from hardenoff.forecast.sources import by_place, source_order
from hardenoff.records import Carer, ForecastSettings, Garden, Inside, Place

NOW = datetime(2027, 4, 20, 6, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
OHIO = Place("Tannery Row", 40.01, -83.02, 240.0, "America/New_York")
OPEN_METEO, MET = "/v1/forecast", "/weatherapi"
BRISK = Manners(connect_s=0.5, read_s=0.5, backoff_s=0.02, jitter_s=0.0, least_try_s=0.02)


@pytest.fixture
def server() -> Iterator[Loopback]:
    with Loopback() as running:
        running.play(OPEN_METEO, Scripted(open_meteo(NOW)))
        running.play(MET, Scripted(met_norway(NOW)))
        running.play("/points", Scripted(nws_points("https://api.weather.gov")))
        running.play("/gridpoints", Scripted(nws_grid(NOW)))
        running.play("/alerts", Scripted(nws_alerts(NOW)))
        yield running


def garden(server: Loopback, *sources: str, **settings: object) -> Garden:
    """A garden whose sources are all played by the server."""
    keys = sources or ("open-meteo",)
    forecast = ForecastSettings(
        sources=keys, base_urls=dict.fromkeys(("open-meteo", "met-norway", "nws"), server.url)
    )
    return Garden(OHIO, Carer(((),) * 7), Inside(), (), (), forecast=replace(forecast, **settings))


def get(plot: Garden, folder: Path, *, after: timedelta = timedelta(0), **options: object) -> Obtained:
    """`obtain` so long after NOW, everything kept in the folder."""
    options = {"manners": BRISK, "deadline_s": 6.0, **options}
    return obtain(plot, NOW + after, cache_dir=folder, archive_dir=folder / "state", **options)


# --- the order ---------------------------------------------------------------------------------------


def test_first_run_is_fresh(server: Loopback, tmp_path: Path) -> None:
    """A new reply has the status fresh, age 0, and the run's time as its time of fetching."""
    got = get(garden(server), tmp_path)
    assert (got.note.status, got.note.age_hours, got.note.fetched_at) == ("fresh", 0.0, NOW)
    assert got.note.provider == "open-meteo"
    assert "Open-Meteo" in str(got.note.attribution)
    assert got.forecast.hours["air_temperature_c"].loc[NOW] == 9.0


def test_second_run_asks_nothing(server: Loopback, tmp_path: Path) -> None:
    """Within its hour a reply is used again without a request."""
    get(garden(server), tmp_path)
    got = get(garden(server), tmp_path, after=0.75 * HOUR)
    assert (got.note.status, got.note.age_hours) == ("cached", 0.75)
    assert got.note.fetched_at == NOW
    assert len(server.asked()) == 1


def test_expired_reply_is_asked_for_again(server: Loopback, tmp_path: Path) -> None:
    """After its hour, by the run's clock, the provider is asked once more."""
    get(garden(server), tmp_path)
    got = get(garden(server), tmp_path, after=2 * HOUR)
    assert (got.note.status, got.note.fetched_at) == ("fresh", NOW + 2 * HOUR)
    assert len(server.asked()) == 2


def test_kept_six_hours_comes_before_next_source(server: Loopback, tmp_path: Path) -> None:
    """A source that fails is still trusted for the six hours after its last reply."""
    plot = garden(server, "open-meteo", "met-norway")
    get(plot, tmp_path)
    server.play(OPEN_METEO, Scripted(status=404))
    got = get(plot, tmp_path, after=5 * HOUR)
    assert (got.note.provider, got.note.status, got.note.age_hours) == ("open-meteo", "cached", 5.0)
    assert any("open-meteo: HTTP 404" in note for note in got.note.notes)


def test_next_source_comes_before_an_older_reply(server: Loopback, tmp_path: Path) -> None:
    """Past six hours a fresh reply of the next source is better than the first one's old one."""
    plot = garden(server, "open-meteo", "met-norway")
    get(plot, tmp_path)
    server.play(OPEN_METEO, Scripted(status=404))
    got = get(plot, tmp_path, after=7 * HOUR)
    assert (got.note.provider, got.note.status) == ("met-norway", "fresh")


@pytest.mark.parametrize(("hours", "status"), [(5, "cached"), (6, "cached"), (7, "stale"), (36, "stale")])
def test_with_the_server_stopped(server: Loopback, tmp_path: Path, hours: int, status: str) -> None:
    """Up to 36 hours a kept reply answers, and says how old it is."""
    get(garden(server), tmp_path)
    server.stop()
    got = get(garden(server), tmp_path, after=hours * HOUR)
    assert (got.note.status, got.note.age_hours) == (status, hours)
    assert any("open-meteo: connection refused" in note for note in got.note.notes)


def test_past_36_hours_nothing_is_safe(server: Loopback, tmp_path: Path) -> None:
    """One minute past 36 hours the run fails with exit 3 and says to keep inside."""
    get(garden(server), tmp_path)
    server.stop()
    with pytest.raises(NoForecastError) as caught:
        get(garden(server), tmp_path, after=36 * HOUR + timedelta(minutes=1))
    assert caught.value.exit_code == Exit.NO_FORECAST
    assert "keep inside" in caught.value.fix
    assert "connection refused" in caught.value.what
    assert "the kept reply is 36.0 h old" in caught.value.what


def test_youngest_kept_reply_wins(server: Loopback, tmp_path: Path) -> None:
    """When no source answers, the youngest reply of any counts, not that of the most trusted source."""
    plot = garden(server, "open-meteo", "met-norway")
    get(garden(server, "open-meteo"), tmp_path)
    get(garden(server, "met-norway"), tmp_path, after=5 * HOUR)
    server.stop()
    got = get(plot, tmp_path, after=20 * HOUR)
    assert (got.note.provider, got.note.age_hours) == ("met-norway", 15.0)


def test_a_clock_set_back_makes_no_reply_young(
    server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reply that the machine's clock finds 40 hours old is 40 hours old, whatever `now` says."""
    import hardenoff.fetch.session as session

    get(garden(server), tmp_path)
    server.stop()

    class Later(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:
            return datetime.now(UTC) + 40 * HOUR

    monkeypatch.setattr(session, "datetime", Later)
    with pytest.raises(NoForecastError):
        get(garden(server), tmp_path)


# --- offline -----------------------------------------------------------------------------------------


@pytest.mark.disable_socket
def test_offline_without_a_kept_reply(tmp_path: Path) -> None:
    """Offline with nothing kept fails with exit 3, and opens no socket to find out."""
    plot = Garden(OHIO, Carer(((),) * 7), Inside(), (), ())
    with pytest.raises(NoForecastError) as caught:
        get(plot, tmp_path, offline=True)
    assert "no kept reply" in caught.value.what
    assert "--offline" in caught.value.fix


@pytest.mark.parametrize(("hours", "status"), [(0.5, "cached"), (30, "stale")])
def test_offline_asks_nobody(server: Loopback, tmp_path: Path, hours: float, status: str) -> None:
    """Offline uses the kept reply, fresh or expired, though the server is there."""
    get(garden(server), tmp_path)
    got = get(garden(server), tmp_path, after=hours * HOUR, offline=True)
    assert (got.note.status, got.note.age_hours) == (status, hours)
    assert len(server.asked()) == 1


def test_offline_asks_nobody_even_if_the_reply_varies(server: Loopback, tmp_path: Path) -> None:
    """`Vary: *` and `no-cache` can't make an offline run open a socket."""
    server.play(OPEN_METEO, Scripted(open_meteo(NOW), headers={"Vary": "*", "Cache-Control": "no-cache"}))
    get(garden(server), tmp_path)
    assert get(garden(server), tmp_path, after=2 * HOUR, offline=True).note.status == "cached"
    assert len(server.asked()) == 1


# --- manners -----------------------------------------------------------------------------------------


def test_headers_identify_the_program_and_the_contact(server: Loopback, tmp_path: Path) -> None:
    """User-Agent with version and contact, encodings we can undo, the type the reader wants."""
    get(garden(server, contact="grower@example.org"), tmp_path)
    sent = server.asked()[0].headers
    assert sent["User-Agent"].startswith("hardenoff/")
    assert sent["User-Agent"].endswith("(grower@example.org)")
    assert sent["Accept-Encoding"] == "gzip, deflate"
    assert sent["Accept"] == "application/json"


def test_a_contact_cannot_add_headers(server: Loopback, tmp_path: Path) -> None:
    """A line break in the contact stays out of the header."""
    get(garden(server, contact="grower@example.org\r\nX-Other: 1"), tmp_path)
    assert "X-Other" not in server.asked()[0].headers


def test_conditional_request_with_the_verbatim_date(server: Loopback, tmp_path: Path) -> None:
    """Once expired, a dated reply is asked for with If-Modified-Since as given; 304 makes it young again."""
    dated = {"Last-Modified": "Tue, 20 Apr 2027 05:12:44 GMT", "Cache-Control": "max-age=1800"}
    server.play(MET, Scripted(met_norway(NOW), headers=dated), Scripted(status=304, headers=dated))
    plot = garden(server, "met-norway")
    get(plot, tmp_path)
    expire(tmp_path)
    got = get(plot, tmp_path, after=1 * HOUR)
    assert server.asked()[1].headers["If-Modified-Since"] == dated["Last-Modified"]
    assert (got.note.status, got.note.age_hours) == ("fresh", 0.0)
    assert get(plot, tmp_path, after=1.25 * HOUR).note.age_hours == 0.25
    assert len(server.asked()) == 2


def test_two_runs_at_once_ask_once(server: Loopback, tmp_path: Path) -> None:
    """Of four runs at the same moment one asks; the others wait for it and find its reply."""
    server.play(OPEN_METEO, Scripted(open_meteo(NOW), delay_s=0.2))
    got: list[Obtained] = []
    runs = [threading.Thread(target=lambda: got.append(get(garden(server), tmp_path))) for _ in range(4)]
    for run in runs:
        run.start()
    for run in runs:
        run.join(20)
    assert sorted(one.note.status for one in got) == ["cached", "cached", "cached", "fresh"]
    assert len(server.asked()) == 1


def test_two_processes_at_once_ask_once(server: Loopback, tmp_path: Path) -> None:
    """The turn holds between processes as well, and both end well."""
    server.play(OPEN_METEO, Scripted(open_meteo(NOW), delay_s=0.3))
    program = (
        "import sys, datetime, pathlib; sys.path.insert(0, sys.argv[3])\n"
        "from test_fetch import garden, get\n"
        "class Server: url = sys.argv[1]\n"
        "print(get(garden(Server), pathlib.Path(sys.argv[2])).note.status)"
    )
    command = [sys.executable, "-c", program, server.url, str(tmp_path), str(Path(__file__).parent)]
    runs = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    assert sorted(run.communicate(timeout=20)[0].strip() for run in runs) == ["cached", "fresh"]
    assert len(server.asked()) == 1


def test_one_request_at_a_time(server: Loopback, tmp_path: Path) -> None:
    """Three requests to one host, and a second source there, come one after another, each address once."""
    got = get(garden(server, "nws", "met-norway"), tmp_path)
    get(garden(server, "nws", "met-norway"), tmp_path)
    assert got.note.provider == "nws"
    assert server.most_at_once() == 1
    paths = [one.path for one in server.asked()]
    assert len(paths) == len(set(paths)) == 4


def test_a_session_of_one_s_own_stays_open(server: Loopback, tmp_path: Path) -> None:
    """A courier that is handed in serves several gardens and is not closed."""
    from hardenoff.fetch.session import Courier

    with Courier(tmp_path, NOW, manners=BRISK) as courier:
        for source in ("open-meteo", "met-norway", "open-meteo"):
            got = obtain(garden(server, source), NOW, session=courier, archive=False)
    assert got.note.status == "cached"


def test_a_reply_kept_by_another_version(server: Loopback, tmp_path: Path) -> None:
    """Without our stamps a kept reply has the age the cache knows, and is asked for again."""
    import requests_cache

    real = datetime.now(UTC)
    server.play(OPEN_METEO, Scripted(open_meteo(real)))
    get(garden(server), tmp_path, after=real - NOW)
    with requests_cache.CachedSession(str(tmp_path / "replies.sqlite"), serializer="json") as session:
        for reply in list(session.cache.filter()):
            for name in ("x-fetched-at", "x-fetched-really", "x-keeps-s"):
                del reply.headers[name]
            reply.created_at = real - 20 * HOUR
            session.cache.responses[reply.cache_key] = reply
    old = get(garden(server), tmp_path, after=real - NOW, offline=True)
    assert old.note.status == "stale"
    assert old.note.age_hours == pytest.approx(20.0, abs=0.1)
    assert get(garden(server), tmp_path, after=real - NOW).note.status == "fresh"


def test_old_replies_are_cleared_away(server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond a number of replies those of last month go, the others stay."""
    import requests_cache

    from hardenoff.fetch import shelf

    get(garden(server, "open-meteo", "met-norway"), tmp_path)
    with requests_cache.CachedSession(str(tmp_path / "replies.sqlite"), serializer="json") as session:
        for reply in list(session.cache.filter()):
            if "weatherapi" in reply.url:
                reply.created_at = datetime.now(UTC) - timedelta(days=31)
                session.cache.responses[reply.cache_key] = reply
    monkeypatch.setattr(shelf, "MOST_REPLIES", 1)
    kept, faults = shelf.open_shelf(tmp_path)
    assert faults == []
    assert ["/v1/forecast" in reply.url for reply in kept.filter()] == [True]
    kept.close()


def test_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The environment names the folders; else the user's own (XDG Base Directory, through platformdirs)."""
    monkeypatch.setenv("HARDENOFF_CACHE_DIR", str(tmp_path / "c"))
    monkeypatch.setenv("HARDENOFF_STATE_DIR", str(tmp_path / "s"))
    assert (cache_folder(), state_folder()) == (tmp_path / "c", tmp_path / "s")
    for name in ("HARDENOFF_CACHE_DIR", "HARDENOFF_STATE_DIR"):
        monkeypatch.setenv(name, "")
    assert cache_folder().name == state_folder().name == "hardenoff"
    assert cache_folder() != state_folder()


def test_expiry_is_each_reply_s_own(server: Loopback, tmp_path: Path) -> None:
    """Two hours later the grid and the alerts are asked for again, the address of the grid is not."""
    for hours in (0, 2):
        get(garden(server, "nws"), tmp_path, after=hours * HOUR)
    assert [len(server.asked(path)) for path in ("/points", "/gridpoints", "/alerts")] == [1, 2, 2]


def test_redirect_is_followed(server: Loopback, tmp_path: Path) -> None:
    """301 leads to the reply, which is kept under the first address."""
    server.play("/moved", Scripted(open_meteo(NOW)))
    server.play(OPEN_METEO, Scripted(status=301, headers={"Location": "/moved?x=1"}))
    assert get(garden(server), tmp_path).note.status == "fresh"
    assert get(garden(server), tmp_path).note.status == "cached"
    assert len(server.asked()) == 2


def test_redirects_without_end(server: Loopback, tmp_path: Path) -> None:
    """A ring of redirects is left after a few steps."""
    server.play(OPEN_METEO, Scripted(status=302, headers={"Location": f"{OPEN_METEO}?again=1"}))
    with pytest.raises(NoForecastError, match="without end"):
        get(garden(server), tmp_path)
    assert len(server.asked()) <= 6


def test_203_is_kept(server: Loopback, tmp_path: Path) -> None:
    """203, a deprecated version of a service, holds a whole forecast."""
    server.play(MET, Scripted(met_norway(NOW), status=203))
    for status in ("fresh", "cached"):
        assert get(garden(server, "met-norway"), tmp_path).note.status == status
    assert len(server.asked()) == 1


@outside(
    "RFC 9111, section 4.2.1: max-age before Expires, Expires less Date, less Age",
    "how long a reply stays fresh",
    within="equal",
    because="a rule",
)
def test_life_of_a_reply() -> None:
    """Ours where nothing is said."""
    date, later = "Tue, 20 Apr 2027 06:00:00 GMT", "Tue, 20 Apr 2027 06:30:00 GMT"
    compare(life_s({"cache-control": "public, max-age=1336", "expires": later}, 3600, NOW), 1336)
    compare(life_s({"expires": later, "date": date}, 3600, NOW + 9 * HOUR), 1800)
    compare(life_s({"cache-control": "max-age=1336, s-maxage=3600", "age": "336"}, 3600, NOW), 1000)
    assert life_s({}, 3600, NOW) == 3600
    assert life_s({"cache-control": "no-store"}, 3600, NOW) == 3600
    assert life_s({"expires": "0"}, 3600, NOW) == 60  # an invalid date means: expired already
    assert life_s({"cache-control": "max-age=31536000"}, 60, NOW) == 360
    assert life_s({"cache-control": "max-age=85600"}, 7 * 86400, NOW) == 85600


@outside(
    "RFC 9110, section 10.2.3: seconds, or a date",
    "how long Retry-After asks to wait",
    within="equal",
    because="a rule",
)
def test_retry_after() -> None:
    """The date is read against the server's clock."""
    date = {"date": "Tue, 20 Apr 2027 06:00:00 GMT", "retry-after": "Tue, 20 Apr 2027 06:00:20 GMT"}
    compare(wait_told_s({"retry-after": " 120 "}, NOW), 120)
    compare(wait_told_s(date, NOW - 5 * HOUR), 20)
    assert wait_told_s({}, NOW) is None
    assert wait_told_s({"retry-after": "soon"}, NOW) is None


def test_pauses_grow_and_stay_within_the_deadline() -> None:
    """1 s, 2 s, with jitter on top; none that would end past the deadline, none for a wait longer than 30 s."""
    usual = {"wait_told_s": None, "left_s": 40.0, "jitter": 0.0, "manners": Manners()}
    assert [pause_s(tried, 3, **usual) for tried in (1, 2, 3)] == [1.0, 2.0, None]
    assert pause_s(1, 3, **{**usual, "jitter": 1.0}) == 1.5
    assert pause_s(1, 3, **{**usual, "wait_told_s": 3.0}) == 3.0
    assert pause_s(1, 3, **{**usual, "wait_told_s": 31.0}) is None
    assert pause_s(1, 3, **{**usual, "wait_told_s": 20.0, "left_s": 20.2}) is None


# --- which sources -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "second"),
    [
        ("America/New_York", "nws"),
        ("US/Pacific", "nws"),
        ("America/Puerto_Rico", "nws"),
        ("America/Toronto", "met-norway"),
        ("Europe/Oslo", "met-norway"),
        ("Australia/Hobart", "met-norway"),
        ("UTC", "met-norway"),
    ],
)
def test_default_order(zone: str, second: str) -> None:
    """Country of a zone by the IANA time zone database (zone.tab)."""
    assert by_place(replace(OHIO, timezone=zone)) == ("open-meteo", second)


def test_a_stand_in_server_is_all_that_is_asked() -> None:
    """Who names a server of their own and no sources has the coordinates sent nowhere else."""
    settings = ForecastSettings(base_urls={"open-meteo": "http://127.0.0.1:8123"})
    assert source_order(OHIO, settings) == ("open-meteo",)
    assert source_order(OHIO, ForecastSettings()) == ("open-meteo", "nws")


def test_unknown_source() -> None:
    """A source that no reader is there for is a fault of the garden file, which names those there are."""
    with pytest.raises(UsageError, match="moon-phase") as caught:
        source_order(OHIO, ForecastSettings(sources=("moon-phase",)))
    assert "open-meteo" in caught.value.expected


def test_second_opinion_and_alerts(server: Loopback, tmp_path: Path) -> None:
    """The next source is read beside the first, and a freeze warning comes with it."""
    server.play("/alerts", Scripted(nws_alerts(NOW, "Freeze Warning")))
    got = get(garden(server, "open-meteo", "nws"), tmp_path)
    assert [other.origin.provider for other in got.others] == ["nws"]
    assert got.others[0].hours["air_temperature_c"].loc[NOW] == 6.0
    assert [alert.event for alert in got.alerts] == ["Freeze Warning"]


def test_whatever_was_heard_is_credited(server: Loopback, tmp_path: Path) -> None:
    """A licence asks for its line also for a second opinion; and alerts are credited where there are some."""
    own, second = READERS["open-meteo"].attribution, READERS["nws"].attribution
    quiet = get(garden(server, "open-meteo", "nws"), tmp_path / "quiet")
    assert quiet.note.attribution == f"{own}; {second}"
    server.play("/alerts", Scripted(nws_alerts(NOW, "Freeze Warning")))
    warned = get(garden(server, "open-meteo", "nws"), tmp_path / "warned")
    assert warned.note.attribution == f"{own}; {second}; {ATTRIBUTION}"
    file = tmp_path / "kept.json"
    file.write_bytes(warned.bundle())
    assert get(garden(server), tmp_path, file=file).note.attribution == warned.note.attribution


def test_alerts_that_fail_are_said(server: Loopback, tmp_path: Path) -> None:
    """No alerts because they could not be had is not the same as none in force."""
    server.play("/alerts", Scripted(b"<html>", status=404))
    got = get(garden(server, "nws"), tmp_path)
    assert got.alerts == ()
    assert any("alerts: HTTP 404" in note for note in got.note.notes)


def test_second_opinion_may_fail(server: Loopback, tmp_path: Path) -> None:
    """A second source that is down costs a note, not the forecast."""
    server.play(MET, Scripted(status=404))
    got = get(garden(server, "open-meteo", "met-norway"), tmp_path)
    assert (got.note.status, got.others) == ("fresh", ())
    assert any(note.startswith("met-norway: HTTP 404") for note in got.note.notes)


def test_second_opinion_is_not_waited_for(
    server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A second source that hangs gets its few seconds, not the rest of the deadline."""
    monkeypatch.setattr("hardenoff.fetch.order.SECOND_OPINION_S", 0.2)
    server.play(MET, Scripted(met_norway(NOW), delay_s=5.0))
    start = perf_counter()
    got = get(garden(server, "open-meteo", "met-norway"), tmp_path, manners=replace(BRISK, read_s=20.0))
    assert (got.note.status, got.others) == ("fresh", ())
    assert perf_counter() - start < 2.0


def test_what_is_needed_is_asked_for_first(tmp_path: Path) -> None:
    """However a reader orders its requests, an optional one is not asked for in vain."""

    class Last(OpenMeteo):
        def requests(self, *_: object) -> tuple[Request, ...]:
            return (Request("extra", "http://x", optional=True), Request("forecast", "http://y"))

    asked = []

    def nobody_answers(request: Request, _check: object) -> Answer:
        asked.append(request.role)
        raise NoAnswer("down")

    with pytest.raises(NoAnswer):
        Source(Last(), OHIO, ForecastSettings(), NOW).read(nobody_answers)
    assert asked == ["forecast"]


# --- files -------------------------------------------------------------------------------------------


def test_bundle_reads_back(server: Loopback, tmp_path: Path) -> None:
    """What --save-forecast writes, --forecast-file reads to the same hours, alerts and age."""
    server.play("/alerts", Scripted(nws_alerts(NOW, "Frost Advisory")))
    live = get(garden(server, "nws"), tmp_path)
    file = tmp_path / "kept.json"
    file.write_bytes(live.bundle())
    read = get(garden(server), tmp_path, after=2 * HOUR, file=file)
    assert (read.note.status, read.note.provider, read.note.age_hours) == ("file", "nws", 2.0)
    assert read.forecast.hours.equals(live.forecast.hours)
    assert [alert.event for alert in read.alerts] == ["Frost Advisory"]
    file.write_bytes(read.bundle())
    assert get(garden(server), tmp_path, file=file).forecast.hours.equals(live.forecast.hours)


def test_bare_body_asks_nobody(server: Loopback, tmp_path: Path) -> None:
    """A provider's bare reply is read as it is, and no server hears of it."""
    file = tmp_path / "reply.json"
    file.write_bytes(open_meteo(NOW))
    assert get(garden(server), tmp_path, file=file).note.status == "file"
    assert server.asked() == []
    assert not (tmp_path / "state").exists()


def test_file_for_another_place(server: Loopback, tmp_path: Path) -> None:
    """A grid point over 50 km away is another place: exit 4."""
    file = tmp_path / "reply.json"
    file.write_bytes(open_meteo(NOW, latitude=40.6))
    with pytest.raises(UnreadableError) as caught:
        get(garden(server), tmp_path, file=file)
    assert caught.value.exit_code == Exit.UNREADABLE


def test_old_file_suggests_its_own_time(server: Loopback, tmp_path: Path) -> None:
    """A bundle older than 36 hours ends with exit 3, suggests --now with its time, and moves no clock."""
    file = tmp_path / "kept.json"
    file.write_bytes(get(garden(server), tmp_path).bundle())
    with pytest.raises(NoForecastError) as caught:
        get(garden(server), tmp_path, after=37 * HOUR, file=file)
    assert caught.value.exit_code == Exit.NO_FORECAST
    assert "--now 2027-04-20T06:00Z" in caught.value.fix


def test_file_that_is_over(server: Loopback, tmp_path: Path) -> None:
    """Nothing left at or after now: exit 3."""
    file = tmp_path / "reply.json"
    file.write_bytes(open_meteo(NOW))
    with pytest.raises(NoForecastError, match="last hour"):
        get(garden(server), tmp_path, after=timedelta(days=30), file=file)


def test_missing_file(server: Loopback, tmp_path: Path) -> None:
    """A file that is not there is a fault of the command line: exit 2."""
    with pytest.raises(UsageError) as caught:
        get(garden(server), tmp_path, file=tmp_path / "nowhere.json")
    assert caught.value.exit_code == Exit.USAGE


# --- archive -----------------------------------------------------------------------------------------


def archived(folder: Path) -> list[dict[str, object]]:
    """All lines of the archive."""
    files = sorted((folder / "state" / "forecasts").glob("*.jsonl"))
    return [json.loads(text) for file in files for text in file.read_text("utf-8").splitlines()]


def test_archive_has_what_was_forecast(server: Loopback, tmp_path: Path) -> None:
    """One line a fetched forecast, by month, with the hours from then on."""
    get(garden(server, "open-meteo", "met-norway"), tmp_path)
    first, second = archived(tmp_path)
    assert (first["provider"], second["provider"]) == ("open-meteo", "met-norway")
    assert first["fetched_at"] == first["first_hour"] == "2027-04-20T06:00:00Z"
    assert first["air_temperature_c"] == [9.0] * (16 * 24 - 6)
    assert (tmp_path / "state" / "forecasts" / "2027-04.jsonl").exists()


def test_archive_takes_nothing_twice(server: Loopback, tmp_path: Path) -> None:
    """A kept reply was archived when it came; an unreal `now` keeps out of it altogether."""
    get(garden(server), tmp_path)
    get(garden(server), tmp_path)
    get(garden(server), tmp_path, after=2 * HOUR, archive=False)
    assert len(archived(tmp_path)) == 1


def test_archive_says_missing_as_null(server: Loopback, tmp_path: Path) -> None:
    """A missing hour is null in the archive, never a number."""
    forecast = get(garden(server), tmp_path).forecast
    forecast.hours.loc[NOW + HOUR, "air_temperature_c"] = float("nan")
    assert line(forecast, OHIO, NOW)["air_temperature_c"][:3] == [9.0, None, 9.0]


def test_archive_that_cannot_be_written(server: Loopback, tmp_path: Path) -> None:
    """A state folder that is a file costs a note."""
    (tmp_path / "state").write_text("not a folder")
    got = get(garden(server), tmp_path)
    assert got.note.status == "fresh"
    assert any("not archived" in note for note in got.note.notes)


# --- speed and weight --------------------------------------------------------------------------------


def test_overhead_above_the_bare_exchange(server: Loopback, tmp_path: Path) -> None:
    """Fetch, check, keep and read one 16-day reply: at most 0.4 s above the bare exchange (least of three)."""
    get(garden(server), tmp_path / "warm")
    spent = []
    for run in range(3):
        start = perf_counter()
        requests.get(server.url + OPEN_METEO, timeout=5)
        bare = perf_counter() - start
        start = perf_counter()
        get(garden(server), tmp_path / str(run))
        spent.append(perf_counter() - start - bare)
    assert min(spent) <= 0.4


def test_a_reply_is_read_once(server: Loopback, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Checking a new reply reads it; it is not read again to plan from it, nor is a kept one read twice."""
    read = []
    parse = OpenMeteo.parse
    monkeypatch.setattr(OpenMeteo, "parse", lambda self, *args, **how: read.append(1) or parse(self, *args, **how))
    get(garden(server), tmp_path)
    get(garden(server), tmp_path)
    assert len(read) == 2


def test_import_loads_no_network_library() -> None:
    """Importing the package loads neither requests-cache nor pandas."""
    heavy = ("requests", "requests_cache", "pandas")
    program = f"import sys, hardenoff.fetch; print([name for name in {heavy} if name in sys.modules])"
    assert subprocess.check_output([sys.executable, "-c", program], text=True).strip() == "[]"


def expire(folder: Path) -> None:
    """Let every kept reply have expired an hour ago by the machine's clock."""
    import requests_cache

    with requests_cache.CachedSession(
        str(folder / "replies.sqlite"), backend="sqlite", serializer="json"
    ) as session:
        for reply in list(session.cache.filter()):
            reply.expires = datetime.now(UTC) - HOUR
            session.cache.responses[reply.cache_key] = reply
