"""Whatever becomes of a file on the way, its reader keeps its contract or says in three parts why it can't.

Fixtures and kept files are damaged at random (`mutations.py`). What is damaged may become unknown and never
another value; nothing but a HardenoffError comes out, and no warning.
"""

from __future__ import annotations

import csv
import json
import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from mutations import bytes_mutated, lines_mutated, mutated

from hardenoff.errors import Exit, HardenoffError, UnreadableError
from hardenoff.fetch import archive
from hardenoff.fetch.past import keep_past, past_path, with_past
from hardenoff.forecast import READERS, read_saved, write_bundle
from hardenoff.forecast.alerts import read_alerts
from hardenoff.forecast.ensemble import read_members
from hardenoff.forecast.fields import as_number
from hardenoff.forecast.hours import COLUMN_NAMES, COLUMNS, Forecast
from hardenoff.forecast.reader import FORECAST, Reply
from hardenoff.garden import check_garden
from hardenoff.journal.entries import KINDS, Entry, fates, standing
from hardenoff.journal.file import append, journal_path, read_journal
from hardenoff.journal.text import HEADER, format_line
from hardenoff.keep import read_kept, read_morning, write_kept
from hardenoff.night.past import past_lows
from hardenoff.records import Place
from hardenoff.schedule.changes import Inputs, Kept, KeptBatch

FIXTURES = Path(__file__).parents[1] / "fixtures"
FETCHED = datetime(2027, 4, 20, 6, tzinfo=UTC)
PLACE = Place("Quarry Lane", 42.94, -77.33, 260.0, "America/New_York")
BODIES = {
    (folder.name, path.stem): path.read_bytes()
    for folder in sorted((FIXTURES / "forecasts").iterdir())
    if folder.is_dir()
    for path in sorted(folder.iterdir())
}
IN_A_FOLDER = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
DICE = st.randoms(use_true_random=False)


def keeps_the_contract(forecast: Forecast) -> None:
    """Hours as `forecast/hours.py` promises them, and nothing in them that can't be."""
    hours, origin = forecast.hours, forecast.origin
    assert tuple(hours.columns) == COLUMN_NAMES
    assert set(hours.dtypes) == {np.dtype("float64")}
    assert hours.index.name == "time"
    assert str(hours.index.tz) == "UTC"
    assert len(hours) > 0
    assert (hours.index == hours.index.floor("h")).all()
    assert (hours.index[1:] - hours.index[:-1] == timedelta(hours=1)).all()
    for column in COLUMNS:
        known = hours[column.name].dropna()
        assert known.between(column.least, column.most).all(), column.name
    lows = forecast.block_lows
    assert lows["min_c"].between(COLUMNS[0].least, COLUMNS[0].most).all()
    assert (lows["end"] > lows["start"]).all()
    assert all(number is None or math.isfinite(number) for number in (origin.latitude, origin.longitude))


def is_told(fault: HardenoffError, code: Exit = Exit.UNREADABLE) -> None:
    """Three parts of readable length, the right exit code, and nothing that steers a terminal."""
    assert fault.exit_code == code
    assert fault.what
    assert fault.expected
    assert fault.fix
    assert len(str(fault)) < 1500
    assert all(sign.isprintable() or sign == "\n" for sign in str(fault))


# --- providers' replies --------------------------------------------------------------------------------


@pytest.mark.parametrize("key", [*READERS])
@settings(max_examples=30)
@given(random=DICE)
def test_a_damaged_reply_keeps_the_contract_or_is_refused(key: str, random: Random) -> None:
    """Given to its own reader by name, as the network does, and as a file, known by its looks."""
    bodies = [body for (folder, _), body in BODIES.items() if folder == key]
    body = mutated(random.choice(bodies), random)
    fetched_at = random.choice((None, FETCHED))
    for read in (
        lambda: READERS[key].parse({FORECAST: body}, fetched_at=fetched_at, headers={}),
        lambda: read_saved(body).forecast,
    ):
        try:
            keeps_the_contract(read())
        except UnreadableError as fault:
            is_told(fault)


@settings(max_examples=60)
@given(random=DICE)
def test_damaged_members_are_temperatures_or_refused(random: Random) -> None:
    """An ensemble's members: between the coldest and the warmest air, or unknown."""
    bodies = [body for (folder, _), body in BODIES.items() if folder == "open-meteo-ensemble"]
    try:
        members = read_members(mutated(random.choice(bodies), random), (40.0, -83.0))
    except UnreadableError as fault:
        is_told(fault)
    else:
        known = members.to_numpy()[members.notna().to_numpy()]
        assert ((known >= COLUMNS[0].least) & (known <= COLUMNS[0].most)).all()


@settings(max_examples=60)
@given(random=DICE)
def test_damaged_alerts_are_read_or_refused(random: Random) -> None:
    """Their times have a zone, and their words steer no terminal."""
    bodies = [body for (folder, _), body in BODIES.items() if folder == "nws-alerts"]
    try:
        alerts = read_alerts(mutated(random.choice(bodies), random))
    except UnreadableError as fault:
        is_told(fault)
    else:
        assert all(each is None or each.tzinfo for alert in alerts for each in (alert.onset, alert.ends))
        assert all(each.isprintable() for alert in alerts for each in (alert.event, alert.headline, alert.source))


def bundle(**changes: Any) -> dict[str, Any]:
    """A bundle of a table, which names no place of its own."""
    reply = Reply(FORECAST, "", 200, BODIES["table", "normal"])
    document: dict[str, Any] = json.loads(write_bundle("table", [reply], fetched_at=FETCHED, place=PLACE))
    return {**document, **changes}


@settings(max_examples=30)
@given(random=DICE)
def test_a_damaged_bundle_keeps_the_contract_or_is_refused(random: Random) -> None:
    """With a second opinion in it; what its times are is known, or guessed and said."""
    reply = Reply(FORECAST, "", 200, BODIES["open-meteo", "normal"])
    whole = bundle(second_opinions=[json.loads(write_bundle("open-meteo", [reply], fetched_at=FETCHED))])
    try:
        saved = read_saved(mutated(json.dumps(whole).encode(), random))
    except UnreadableError as fault:
        is_told(fault)
    else:
        for each in (saved, *saved.second_opinions):
            keeps_the_contract(each.forecast)
            assert each.as_of is None or each.as_of.tzinfo is not None


UNKNOWN = (None, float("nan"), 1e308, -1e308, [], {}, [None], "", "x", "nan", "M", "1_0", "1e999")
"""What no reader takes for a value."""


@pytest.mark.parametrize("key", ["open-meteo", "nws"])
@settings(max_examples=25)
@given(random=DICE)
def test_what_is_damaged_becomes_unknown_and_nothing_else(key: str, random: Random) -> None:
    """One value anywhere in the reply is lost: each hour is as it was, unknown, or marked as our estimate."""
    whole = READERS[key].parse({FORECAST: BODIES[key, "normal"]}, fetched_at=FETCHED, headers={})
    tree = json.loads(BODIES[key, "normal"])
    *way, last = random.choice(list(_leaves(tree)))
    node = tree
    for step in way:
        node = node[step]
    node[last] = random.choice(UNKNOWN)
    try:
        found = READERS[key].parse({FORECAST: json.dumps(tree).encode()}, fetched_at=FETCHED, headers={})
    except UnreadableError as fault:
        is_told(fault)
        return
    was, now = whole.hours.align(found.hours)
    for name in set(COLUMN_NAMES) - set(found.origin.estimated):
        same = np.isclose(was[name], now[name]) | now[name].isna()
        assert same.all(), (name, way, last)


def _leaves(tree: Any, way: tuple[Any, ...] = ()) -> Any:
    inner = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in inner:
        yield from _leaves(value, (*way, key))
    if not isinstance(tree, dict | list):
        yield way


# --- what was found that way ---------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["as_of", "fetched_at"])
@pytest.mark.parametrize("moment", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "1600-01-01T00:00Z"])
def test_a_bundle_of_another_age_is_refused(key: str, moment: str) -> None:
    """The years 1 and 9999 leave the calendar once they are turned into UTC."""
    with pytest.raises(UnreadableError, match=key) as caught:
        read_saved(json.dumps(bundle(**{key: moment})).encode())
    assert moment in caught.value.what


@pytest.mark.parametrize("latitude", [999, 10**400, True, "40", None, float("inf")])
def test_a_bundle_of_no_place_on_earth_is_refused(latitude: object) -> None:
    """A place that can't be checked must not pass for the garden's."""
    text = json.dumps(bundle(place={"latitude": latitude, "longitude": -77.33})).replace("Infinity", "1e999")
    with pytest.raises(UnreadableError, match="place, latitude = ") as caught:
        read_saved(text.encode())
    is_told(caught.value)


def test_a_bundle_with_two_replies_of_a_role_is_refused() -> None:
    """Which of the two forecasts is meant can't be guessed."""
    twice = bundle()
    twice["replies"] *= 2
    with pytest.raises(UnreadableError, match="two replies with role 'forecast'"):
        read_saved(json.dumps(twice).encode())


@pytest.mark.parametrize("depth", [140, 400, 900, 100_000])
@pytest.mark.parametrize("brackets", [("[", "]"), ('{"a":', "}")])
def test_brackets_without_end_are_refused(depth: int, brackets: tuple[str, str]) -> None:
    """Also where they are too few to break the JSON reader, and would break whoever walks the document."""
    begin, end = brackets
    with pytest.raises(UnreadableError, match="nest without end"):
        read_saved((begin * depth + "0" + end * depth).encode())


def test_brackets_in_text_are_text() -> None:
    """However many there are."""
    reply = json.loads(BODIES["open-meteo", "normal"])
    reply["timezone_abbreviation"] = '["{' * 500
    assert read_saved(json.dumps(reply).encode()).provider == "open-meteo"


def test_a_header_longer_than_csv_allows_is_refused() -> None:
    """As a file without line breaks has; the limit is that of Python's csv module."""
    body = b"time," + b"x" * (csv.field_size_limit() + 1)
    with pytest.raises(UnreadableError, match="line 1: not CSV") as caught:
        read_saved(body)
    is_told(caught.value)


@pytest.mark.parametrize("text", ["1_0", "_1", "1e999", "nan", "infinity", "0x10", "１２", "", "."])
def test_numbers_that_only_python_reads_are_none(text: str) -> None:
    """`1_0` is ten to Python, and to nobody who sends weather."""
    with pytest.raises(ValueError, match="is not a number"):
        as_number(text)


@pytest.mark.parametrize("text", ["0", " -1.5 ", "+.5", "5.", "1E2"])
def test_numbers_as_text_are_read(text: str) -> None:
    """As one provider sends them."""
    assert as_number(text) == float(text)


def test_a_block_s_low_that_no_air_has_is_left_out() -> None:
    """Four thousand million degrees make no night warm."""
    reply = json.loads(BODIES["met-norway", "normal"])
    steps = reply["properties"]["timeseries"]
    whole = read_saved(json.dumps(reply).encode()).forecast
    steps[3]["data"]["next_6_hours"]["details"]["air_temperature_min"] = 4.1e9
    found = read_saved(json.dumps(reply).encode()).forecast
    assert len(found.block_lows) == len(whole.block_lows) - 1
    assert any("lows of blocks: 1 of" in note for note in found.origin.notes)


def test_seconds_with_a_fraction_are_refused_without_a_word_of_pandas() -> None:
    """Stamps off the full hour; that they have nanoseconds is nobody's business (warnings are errors here)."""
    reply = json.loads(BODIES["open-meteo", "normal"])
    reply["hourly"]["time"] = [stamp + 0.4 for stamp in reply["hourly"]["time"]]
    with pytest.raises(UnreadableError, match="off the full hour"):
        read_saved(json.dumps(reply).encode())


def test_a_provider_s_words_steer_no_terminal() -> None:
    """Not in an error it sends, nor in an alert."""
    problem = {
        "type": "https://api.weather.gov/problems/x",
        "title": "No\x1b[2J",
        "status": 500,
        "detail": "\x9b2J\r",
    }
    with pytest.raises(UnreadableError) as caught:
        read_saved(json.dumps(problem).encode())
    is_told(caught.value)
    alerts = json.loads(BODIES["nws-alerts", "normal"])
    for feature in alerts["features"]:
        feature["properties"]["headline"] = "Frost\x1b]0;x\x07\nnow"
    assert {alert.headline for alert in read_alerts(json.dumps(alerts).encode())} == {"Frost ]0;x now"}


# --- the garden file -----------------------------------------------------------------------------------

GARDEN = (FIXTURES / "gardens" / "every_key.toml").read_bytes()
HORIZON = (FIXTURES / "gardens" / "horizon.csv").read_bytes()


@settings(IN_A_FOLDER, max_examples=80)
@given(random=DICE)
def test_a_damaged_garden_is_read_or_its_faults_are_told(tmp_path: Path, random: Random) -> None:
    """Bytes and lines of the garden file, or of the skyline beside it; each fault in three parts."""
    in_skyline, damage = random.random() < 0.3, random.choice((bytes_mutated, lines_mutated))
    (tmp_path / "garden.toml").write_bytes(GARDEN if in_skyline else damage(GARDEN, random))
    (tmp_path / "horizon.csv").write_bytes(damage(HORIZON, random) if in_skyline else HORIZON)
    (tmp_path / "minima.csv").write_bytes((FIXTURES / "gardens" / "minima.csv").read_bytes())
    report = check_garden(tmp_path / "garden.toml", FETCHED)
    assert report.faults or report.garden is not None
    for fault in report.faults:
        assert fault.what
        assert fault.expected
        assert fault.fix
        assert fault.exit_code == Exit.USAGE


@pytest.mark.parametrize(
    ("was", "junk"),
    [
        ("latitude = 43.61", "latitude = {huge}"),
        ("shelter = 0.4", "shelter = {huge}"),
        ('skyline_file = "horizon.csv"', "skyline = [[90, {huge}]]"),
        ("plants = ", "plants = {huge} #"),
        ("trays_per_trip = ", "trays_per_trip = {huge} #"),
    ],
)
def test_numbers_beyond_measure_are_faults(tmp_path: Path, was: str, junk: str) -> None:
    """Whole numbers that no float holds."""
    text = GARDEN.decode()
    assert was in text
    (tmp_path / "garden.toml").write_text(text.replace(was, junk.format(huge="9" * 400), 1), "utf-8")
    (tmp_path / "horizon.csv").write_bytes(HORIZON)
    (tmp_path / "minima.csv").write_bytes((FIXTURES / "gardens" / "minima.csv").read_bytes())
    faults = check_garden(tmp_path / "garden.toml").faults
    assert faults
    assert all(len(str(fault)) < 600 for fault in faults)


@pytest.mark.parametrize("key", ["latitude = 43.61", "shade = [0.5, 0.7]", 'units = "us"'])
def test_lists_of_any_depth_are_faults(tmp_path: Path, key: str) -> None:
    """Up to that at which TOML itself is not read any more: the deepest take most of what Python can stack."""
    for depth in range(5, 500, 15):
        deep = f"{key.partition(' ')[0]} = {'[' * depth}{']' * depth}"
        (tmp_path / "garden.toml").write_text(GARDEN.decode().replace(key, deep, 1), "utf-8")
        assert check_garden(tmp_path / "garden.toml").faults


@pytest.mark.parametrize("skyline", ["a" * 300, ".", "/dev/zero", "garden.toml/x", "/dev/null"])
def test_a_skyline_that_is_no_file_is_a_fault(tmp_path: Path, skyline: str) -> None:
    """A folder, a name too long, a device that never ends."""
    named = GARDEN.replace(b'"horizon.csv"', f'"{skyline}"'.encode())
    (tmp_path / "garden.toml").write_bytes(named)
    assert any("skyline_file" in fault.what for fault in check_garden(tmp_path / "garden.toml").faults)


def test_a_skyline_longer_than_csv_allows_is_a_fault(tmp_path: Path) -> None:
    """A file that is something else."""
    (tmp_path / "garden.toml").write_bytes(GARDEN)
    (tmp_path / "horizon.csv").write_bytes(b"9" * (csv.field_size_limit() + 1))
    assert any("is no CSV" in fault.what for fault in check_garden(tmp_path / "garden.toml").faults)


def test_line_ends_of_old_are_line_ends(tmp_path: Path) -> None:
    """A carriage return alone: TOML has no use for it otherwise."""
    (tmp_path / "garden.toml").write_bytes(
        (FIXTURES / "gardens" / "least.toml").read_bytes().replace(b"\n", b"\r")
    )
    assert check_garden(tmp_path / "garden.toml").faults == ()


# --- the journal ---------------------------------------------------------------------------------------

WRITTEN = datetime(2027, 4, 20, 6, tzinfo=UTC)
NEEDS: dict[str, dict[str, Any]] = {
    "out": {"spot": "bed", "start": WRITTEN, "end": WRITTEN + timedelta(hours=3)},
    "sun": {"spot": "bed", "start": WRITTEN, "end": WRITTEN + timedelta(hours=30)},
    "longer": {"end": WRITTEN},
    "damage": {"damage_kind": "sun"},
    "low": {"spot": "bed", "low_c": -0.0},
    "note": {"text": "é ☀"},
}


def entry(number: int, random: Random) -> Entry:
    """Of any kind; what it corrects may be above it, below it, itself undone, or nowhere."""
    kind = random.choice(KINDS)
    corrects = f"i{random.randrange(9)}" if kind == "undo" or random.random() < 0.3 else None
    corrects = None if corrects == f"i{number}" else corrects
    kind = "done" if kind == "undo" and corrects is None else kind
    return Entry(f"i{number}", WRITTEN, date(2027, 4, 20), kind, corrects=corrects, **NEEDS.get(kind, {}))


@settings(IN_A_FOLDER, max_examples=150)
@given(random=DICE)
def test_a_damaged_journal_takes_one_more_entry_and_loses_none(tmp_path: Path, random: Random) -> None:
    """What could be read before can be read after, in its order, the new entry last; or all is as it was."""
    path = journal_path(tmp_path / "garden.toml")
    lines = [HEADER, *(format_line(entry(number, random)) for number in range(random.randrange(1, 9)))]
    content = "\n".join([*lines, ""]).encode()
    for _ in range(random.randrange(3)):
        content = random.choice((lines_mutated, bytes_mutated, _in_one_line))(content, random)
    path.write_bytes(content)
    try:
        before, complaints = read_journal(path)
        append(path, replace(entry(77, random), corrects=None, kind="done"))
    except HardenoffError as fault:
        is_told(fault)
        assert path.read_bytes() == content
        return
    after, _ = read_journal(path)
    assert after[:-1] == before
    assert after[-1].id == "i77"
    assert all(complaint.line >= 1 and 0 < len(complaint.what) < 300 for complaint in complaints)
    assert len(fates(before)) == len(before)
    assert {each.id for each in standing(before)} <= {each.id for each in before}


def _in_one_line(content: bytes, random: Random) -> bytes:
    """The tree of one line damaged."""
    lines = content.split(b"\n")
    at = random.randrange(len(lines))
    lines[at] = mutated(lines[at], random).replace(b"\n", b"")
    return b"\n".join(lines)


# --- what is kept between runs -------------------------------------------------------------------------

KEPT = Kept(
    "2027-04-20",
    Inputs("open-meteo 6", "garden", "journal"),
    {"peppers": KeptBatch(None, "2027-05-09", {"2027-04-20": 3.5}, {"2027-04-20": "hold"}, {"2027-04-20": "in"})},
)


@settings(IN_A_FOLDER, max_examples=80)
@example(random=Random(1))
@given(random=DICE)
def test_a_damaged_kept_run_is_no_kept_run(tmp_path: Path, random: Random) -> None:
    """Unless it is as it was written, to the letter: its values are shown without another look."""
    path = tmp_path / "runs" / "run.json"
    assert write_kept(path, KEPT) is None
    written = path.read_bytes()
    damaged = mutated(written, random)
    path.write_bytes(damaged)
    is_whole = _parsed(damaged) == _parsed(written)
    assert read_kept(path) == (KEPT if is_whole else None)
    assert read_morning(path) is None


def _parsed(content: bytes) -> object:
    try:
        return json.loads(content)
    except (ValueError, RecursionError):
        return content


@pytest.mark.parametrize(
    "content", [b"", b"[" * 100_000, b'{"a":' * 100_000, b"null", b"[]", b"\xff\xfe", b"9" * 5000]
)
def test_what_is_no_run_at_all_is_none(tmp_path: Path, content: bytes) -> None:
    """Nor is there a word of it: the next run keeps a new one."""
    path = tmp_path / "run.json"
    path.write_bytes(content)
    assert read_kept(path) is None
    assert read_morning(path) is None


WHOLE = read_saved(BODIES["open-meteo", "normal"]).forecast
NOW = WHOLE.hours.index[60].to_pydatetime()
LATER = replace(WHOLE, hours=WHOLE.hours.iloc[70:])


@settings(IN_A_FOLDER, max_examples=60)
@given(random=DICE)
def test_damaged_past_hours_leave_the_forecast_as_it_is(tmp_path: Path, random: Random) -> None:
    """They come before it, by the contract and at most forty days, or not at all."""
    assert keep_past(tmp_path, PLACE, WHOLE, NOW) is None
    path = past_path(tmp_path, PLACE)
    damage = random.choice((bytes_mutated, lines_mutated))
    path.write_bytes(damage(path.read_bytes(), random))
    found = with_past(tmp_path, PLACE, LATER)
    keeps_the_contract(found)
    assert found.hours.iloc[-len(LATER.hours) :].equals(LATER.hours)
    assert len(found.hours) <= len(LATER.hours) + 40 * 24


def test_past_hours_of_last_season_are_left_out(tmp_path: Path) -> None:
    """Not a year of empty hours between them and the forecast."""
    old = replace(WHOLE, hours=WHOLE.hours.set_axis(WHOLE.hours.index - timedelta(days=330)))
    assert keep_past(tmp_path, PLACE, old, old.hours.index[60].to_pydatetime()) is None
    assert with_past(tmp_path, PLACE, WHOLE) is WHOLE


def test_a_clock_that_is_behind_costs_no_past_hours(tmp_path: Path) -> None:
    """By a clock of 1970 no hour is over; what is kept is not written over with nothing."""
    assert keep_past(tmp_path, PLACE, WHOLE, NOW) is None
    kept = past_path(tmp_path, PLACE).read_bytes()
    assert keep_past(tmp_path, PLACE, WHOLE, datetime(1970, 1, 1, tzinfo=UTC)) is None
    assert past_path(tmp_path, PLACE).read_bytes() == kept


@settings(IN_A_FOLDER, max_examples=25)
@given(random=DICE)
def test_a_damaged_archive_costs_its_own_lines(tmp_path: Path, random: Random) -> None:
    """Lines before and behind are read; what is left of a damaged one has nights, none, or is refused."""
    (tmp_path / "forecasts").mkdir(exist_ok=True)
    line = json.dumps(archive.line(LATER, PLACE, NOW)).encode()
    middle = mutated(line, random).replace(b"\n", b"").replace(b"\r", b"")
    (tmp_path / "forecasts" / "2027-04.jsonl").write_bytes(b"\n".join([line, middle, line, b""]))
    records, damaged = archive.read(tmp_path)
    assert len(records) + damaged <= 3
    assert records[0] == records[-1] == json.loads(line)
    for record in records:
        try:
            assert all(-80.0 <= low.low_c <= 60.0 for low in past_lows(record, PLACE, most_ahead=5))
        except UnreadableError as fault:
            is_told(fault)


def test_a_file_of_the_archive_that_cannot_be_read_costs_itself(tmp_path: Path) -> None:
    """A folder in its place, as after a disk check."""
    (tmp_path / "forecasts" / "2027-03.jsonl").mkdir(parents=True)
    line = json.dumps(archive.line(LATER, PLACE, NOW))
    (tmp_path / "forecasts" / "2027-04.jsonl").write_text(f"\n{line}\n{'[' * 100_000}\n")
    records, damaged = archive.read(tmp_path)
    assert (len(records), damaged) == (1, 2)
