"""The JSON documents: every key of the contract is there, the schemas are true, and no NaN gets out."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from importlib import resources
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from sample_away import comparison
from sample_schedule import CREDIT, NOW, TODAY, ZONE, at, night, peppers, sample, unknown_night, watched
from validation import compare, outside

from hardenoff.errors import UsageError
from hardenoff.forecast.hours import COLUMN_NAMES, Forecast, Origin
from hardenoff.garden import Advice, GardenReport
from hardenoff.journal.entries import Complaint, Entry, Fate
from hardenoff.records import Batch, Carer, Garden, Inside, Place, Spot
from hardenoff.schedule.records import Day, ForecastNote
from hardenoff.sun.windows import SunDay, SunWindow
from hardenoff.tables import find_crop, load_rules
from hardenoff.views import as_json, away_json
from hardenoff.views.json_parts import moment, number
from hardenoff.views.log import Listing

NAMES = ("away", "check", "hours", "log", "plan", "sun", "today", "tonight")


def schema(name: str) -> dict[str, Any]:
    """A published schema."""
    text = resources.files("hardenoff").joinpath("schemas", f"{name}.json").read_text("utf-8")
    return dict(json.loads(text))


# --- one document of each kind ---------------------------------------------------------------------


def a_forecast() -> Forecast:
    """Three hours, most columns missing, one block low."""
    index = pd.date_range("2027-05-05T04:00", periods=3, freq="h", tz="UTC", name="time")
    frame = pd.DataFrame(np.nan, index=index, columns=list(COLUMN_NAMES))
    frame["air_temperature_c"] = [0.0, np.nan, 2.5]
    lows = pd.DataFrame({"start": [index[0]], "end": [index[2]], "min_c": [-1.0]})
    return Forecast(frame, lows, Origin("open-meteo", CREDIT, None, NOW, 40.0, -83.0, None))


def a_garden() -> Garden:
    """One batch, one spot."""
    crop = find_crop("tomato")
    assert crop is not None
    batch = Batch("tomatoes", crop, load_rules()[crop.rule])
    place = Place("Quarry Lane", 40.0, -83.0, None, "America/New_York")
    return Garden(place, Carer(week=((),) * 7), Inside(), (Spot("porch"),), (batch,))


def a_listing() -> Listing:
    """An entry of every key, one of none, and a line that can't be read."""
    every = Entry(
        "b2", NOW, TODAY, "out", "peppers", "porch", at(7), at(18), -0.5, "sun", "dry", 12, corrects="b1"
    )
    entries = ((every, None), (Entry("b1", NOW, TODAY, "done"), Fate("replaced", "b2")))
    return Listing("garden.journal.jsonl", "America/New_York", "us", entries, (Complaint(4, "it is cut off"),))


SUN = SunDay("porch", TODAY, (SunWindow(at(7, 40), at(10, 15), 0.5),), 1.25, 0.3, ("look again",))
NOTE = ForecastNote("open-meteo", None, NOW, 1.5, "file", CREDIT, ("odd",))


def documents() -> dict[str, list[dict[str, Any]]]:
    """At least one document under each schema, with unknown values among them."""
    blind = replace(
        peppers(),
        night=unknown_night(),
        direct_sun_hours_likely=None,
        light_mol_likely=float("nan"),
        verdict="hold",
    )
    unknown = sample(
        days=(Day(TODAY, "forecast", (blind,)),),
        nights=(watched(TODAY, True, {"peppers": unknown_night()}),),
        forecast=ForecastNote(None, None, None, None, "none", None),
    )
    fault = UsageError("what", "expected", "fix")
    return {
        "away": [away_json.away(comparison())],
        "today": [as_json.today(sample()), as_json.today(unknown)],
        "tonight": [as_json.tonight(sample()), as_json.tonight(unknown)],
        "plan": [as_json.plan(sample()), as_json.plan(unknown)],
        "sun": [
            as_json.sun(SUN, (("turned 10 degrees clockwise", 1.5),), "America/New_York"),
            as_json.sun_season((SUN, SUN), "America/New_York"),
        ],
        "check": [
            as_json.check("garden.toml", GardenReport((), (Advice("code", "what", "why", "fix"),), a_garden())),
            as_json.check("garden.toml", GardenReport((fault,), (), None)),
        ],
        "log": [as_json.log(a_listing())],
        "hours": [as_json.hours(a_forecast(), NOTE, "America/New_York")],
    }


ALL = [(name, document) for name, some in documents().items() for document in some]
EACH = pytest.mark.parametrize(("name", "document"), ALL, ids=[name for name, _ in ALL])


# --- schemas and documents agree -------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_a_schema(name: str) -> None:
    """Against the metaschema of JSON Schema 2020-12 (json-schema.org)."""
    Draft202012Validator.check_schema(schema(name))


@EACH
@outside(
    "jsonschema, a reader of JSON Schema draft 2020-12",
    "every JSON document against its published schema",
    within="equal",
    because="it keeps the schema or not",
    kind="library",
)
def test_a_document_keeps_its_schema(name: str, document: dict[str, Any]) -> None:
    """No error in it."""
    compare([error.message for error in Draft202012Validator(schema(name)).iter_errors(document)], [])


@EACH
def test_a_document_has_no_key_that_its_schema_does_not_know(name: str, document: dict[str, Any]) -> None:
    """The published schema is made strict: an undocumented key fails."""
    Draft202012Validator(closed(schema(name))).validate(document)


@EACH
def test_a_document_names_its_schema(name: str, document: dict[str, Any]) -> None:
    """So that a program can tell what it holds."""
    assert document["schema"] == f"hardenoff.{name}/1"


def test_a_missing_key_fails_the_schema() -> None:
    """The schemas have teeth: any key taken from a batch's record is missed."""
    document = as_json.today(sample())
    for key in list(document["batches"][0]):
        broken = json.loads(json.dumps(document))
        del broken["batches"][0][key]
        assert not Draft202012Validator(schema("today")).is_valid(broken), key


def test_shared_parts_are_the_same_in_every_schema() -> None:
    """`night` means the same in `today`, `tonight` and `plan`."""
    parts: dict[str, list[str]] = {}
    for name in NAMES:
        for part, definition in schema(name)["$defs"].items():
            parts.setdefault(part, []).append(json.dumps(definition, sort_keys=True))
    assert {part for part, written in parts.items() if len(set(written)) > 1} == set()


def test_the_hours_schema_has_the_columns_of_the_frame() -> None:
    """Neither more nor fewer."""
    hour = schema("hours")["properties"]["hours"]["items"]["properties"]
    assert list(hour) == ["time", *COLUMN_NAMES]


def closed(node: Any) -> Any:
    """The schema with every object shut against unknown keys."""
    if isinstance(node, list):
        return [closed(item) for item in node]
    if not isinstance(node, dict):
        return node
    shut = {key: closed(value) for key, value in node.items()}
    if "properties" in node and node.get("type") == "object":
        shut["additionalProperties"] = False
    return shut


# --- the contract ----------------------------------------------------------------------------------


def keys(text: str) -> set[str]:
    """Words as a set."""
    return set(text.split())


BATCH_KEYS = keys(
    "batch crop stage verdict way placements outdoor_hours direct_sun_hours_likely direct_sun_hours_if_clear "
    "limits light_mol_likely light_mol_if_clear light_mol_outdoor_likely state night water_by reasons warnings"
)
NIGHT_KEYS = keys(
    "evening morning air_low_c leaf_low_c low_1_in_10_c check_below_c harm_below_c odds_check odds_harm verdict "
    "decided_by because action"
)
REASON_KEYS = keys("code text value limit unit source")


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ((), keys("schema now date timezone forecast moves batches")),
        (("forecast",), keys("provider issued_at fetched_at age_hours status attribution")),
        (("moves", 0), keys("at batches trays from to")),
        (("batches", 0), BATCH_KEYS),
        (("batches", 0, "placements", 0), keys("spot from until")),
        (
            ("batches", 0, "limits"),
            keys("outdoor_hours direct_sun_hours light_mol gust_m_s least_air_c nights_out"),
        ),
        (("batches", 0, "state"), keys("air sun cold light_mol ramp_days confidence")),
        (("batches", 0, "night"), NIGHT_KEYS),
        (("batches", 0, "reasons", 0), REASON_KEYS),
        (("batches", 1, "warnings", 0), REASON_KEYS),
    ],
)
def test_today_has_every_key_of_the_contract(path: tuple[Any, ...], expected: set[str]) -> None:
    """Programs of others lean on these names."""
    node: Any = as_json.today(sample())
    for step in path:
        node = node[step]
    assert expected <= set(node)


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ((), keys("schema now forecast days batches changes")),
        (("days", 0), keys("date certainty batches")),
        (("days", 0, "batches", 0), BATCH_KEYS),
        (("batches", 0), keys("batch hardened_on plant_out")),
        (("batches", 0, "hardened_on"), keys("earliest likely latest")),
        (("changes", 0), keys("batch what was now why")),
    ],
)
def test_the_plan_has_every_key_of_the_contract(path: tuple[Any, ...], expected: set[str]) -> None:
    """Its days hold the same records as `today`."""
    node: Any = as_json.plan(sample())
    for step in path:
        node = node[step]
    assert expected <= set(node)


def test_the_sun_has_every_key_of_the_contract() -> None:
    """One date, and the same for each date of a season."""
    expected = keys("spot date windows direct_sun_hours sky_view_factor")
    one, season = documents()["sun"]
    assert expected <= set(one)
    assert all(expected <= set(day) for day in season["days"])
    assert set(one["windows"][0]) == {"from", "until", "share"}


def test_values_are_those_of_the_schedule() -> None:
    """SI, not the grower's units; times with the place's offset."""
    batch = as_json.today(sample(units="us"))["batches"][0]
    assert batch["placements"] == [
        {"spot": "carport", "from": "2027-05-05T07:15:00-04:00", "until": "2027-05-05T18:00:00-04:00"}
    ]
    assert batch["night"]["air_low_c"] == night().air_low_c
    assert batch["limits"]["gust_m_s"] == 5.0


def walk(node: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf with the key it hangs on."""
    if isinstance(node, dict):
        for name, value in node.items():
            yield from walk(value, name)
    elif isinstance(node, list):
        for value in node:
            yield from walk(value, key)
    else:
        yield key, node


@EACH
def test_every_time_has_an_offset(name: str, document: dict[str, Any]) -> None:
    """A time without an offset means another hour in another place."""
    times = [value for key, value in walk(document) if key in ("at", "from", "until", "time", "now", "low_at")]
    read = [datetime.fromisoformat(value) for value in times if isinstance(value, str) and "T" in value]
    assert all(time.utcoffset() is not None for time in read)


# --- numbers ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("value", [None, float("nan"), float("inf"), float("-inf")])
def test_what_is_unknown_is_null(value: float | None) -> None:
    """NaN is no JSON (RFC 8259, section 6), and zero would be a lie."""
    assert number(value) is None


def test_zero_stays_zero() -> None:
    """Zero degrees is a number."""
    assert number(0.0) == 0.0


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_rounding_keeps_the_order(one: float, other: float) -> None:
    """Sun if clear under its limit stays so in the document."""
    first, second = number(one), number(other)
    assert first is not None
    assert second is not None
    assert (first <= second) or one > other


def test_a_nan_that_slips_through_is_an_error() -> None:
    """Better no answer than one that other programs can't read."""
    with pytest.raises(ValueError, match="JSON"):
        as_json.dumps({"value": float("nan")})


def test_names_survive_any_encoding() -> None:
    """The text is ASCII; the name comes back as it was (RFC 8259, section 7)."""
    text = as_json.dumps({"spot": "Küche °"})
    assert text.isascii()
    assert json.loads(text) == {"spot": "Küche °"}


def test_missing_hours_are_null_and_counted() -> None:
    """One of three temperatures, and all of the dew points."""
    document = as_json.hours(a_forecast(), NOTE, "America/New_York")
    assert [hour["air_temperature_c"] for hour in document["hours"]] == [0.0, None, 2.5]
    assert document["missing_hours"]["air_temperature_c"] == 1
    assert document["missing_hours"]["dew_point_c"] == 3


@EACH
def test_a_document_survives_the_round_trip(name: str, document: dict[str, Any]) -> None:
    """Text and back gives the same values."""
    assert json.loads(as_json.dumps(document)) == document


def test_a_25_hour_day_keeps_both_hours_apart() -> None:
    """01:30 comes twice in New York on 7 November 2027; the offsets tell them apart (IANA tz database)."""
    first = datetime(2027, 11, 7, 5, 30, tzinfo=UTC)
    twice = [moment((first + timedelta(hours=n)).astimezone(ZONE)) for n in (0, 1)]
    assert twice == ["2027-11-07T01:30:00-04:00", "2027-11-07T01:30:00-05:00"]
