"""Ensemble members: how they are named, told apart from what is none, and put on hours."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from hardenoff.errors import UnreadableError
from hardenoff.forecast.ensemble import ENSEMBLE, joined, read_members, request, with_members
from hardenoff.forecast.open_meteo import READER as OPEN_METEO
from hardenoff.forecast.reader import FORECAST
from hardenoff.records import ForecastSettings, Place

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts" / "open-meteo-ensemble"
PLACE = Place("Gorham", 42.94, -77.3, 263.0, "America/New_York")


def body(name: str) -> bytes:
    return (FOLDER / f"{name}.json").read_bytes()


def changed(change: Callable[[dict[str, Any]], None]) -> pd.DataFrame:
    document = json.loads(body("normal"))
    change(document)
    return read_members(json.dumps(document).encode())


def test_control_and_members_are_columns() -> None:
    """The bare name is the control run, `_memberNN` the others: nine runs of 96 hours, in degC."""
    members = read_members(body("normal"))
    assert list(members.columns) == ["control", *(f"member{k:02d}" for k in range(1, 9))]
    assert members.shape == (96, 9)
    assert members.iloc[0, 0] == json.loads(body("normal"))["hourly"]["temperature_2m"][0]


def test_index_is_every_hour_of_utc() -> None:
    """The same kind of index as the forecast's own hours."""
    index = read_members(body("normal")).index
    assert index.equals(pd.date_range("2027-04-18", periods=96, freq="h", tz="UTC"))
    assert (index.name, str(index.dtype)) == ("time", "datetime64[ns, UTC]")


def test_spread_is_what_the_members_were_given() -> None:
    """The fixture's members stand 0.02 K an hour apart: sd of nine at hour 90 is 1.8 K x sqrt(7.5)."""
    members = read_members(body("normal"))
    assert members.iloc[90].std() == pytest.approx(0.02 * 90 * np.sqrt(7.5), abs=0.02)


def test_models_are_told_apart() -> None:
    """With two models the model's name follows; the control of each is no member of the other."""
    members = read_members(body("two-models"))
    assert len(members.columns) == 8
    assert {name.split("/")[0] for name in members.columns} == {"icon_seamless", "ecmwf_ifs025"}
    assert {"icon_seamless/control", "ecmwf_ifs025/member03"} <= set(members.columns)


def test_spread_of_the_provider_is_no_member() -> None:
    """`temperature_2m_spread` is a difference in K: half a degree all through would look like frost."""
    assert list(read_members(body("with-spread")).columns) == ["control", "member01", "member02", "member03"]


def test_null_tail_is_unknown_and_empty_member_is_left_out() -> None:
    """A member without any value is none; the others end when they end."""
    members = read_members(body("nulls"))
    assert "member03" not in members.columns
    assert members.iloc[-6:].isna().all(axis=None)
    assert members.iloc[:-6].notna().all(axis=None)


def test_zero_degrees_is_a_value() -> None:
    """0 degC is neither missing nor false."""
    assert (read_members(body("zero-degrees"))["control"] == 0.0).any()


def test_fahrenheit_is_converted() -> None:
    """32 F is 0 degC and 50 F is 10 degC (definition of the scale)."""

    def in_f(document: dict[str, Any]) -> None:
        for name in document["hourly_units"]:
            if name != "time":
                document["hourly_units"][name] = "°F"
                document["hourly"][name] = [32.0, 50.0, *document["hourly"][name][2:]]

    assert changed(in_f)["member01"].iloc[:2].tolist() == pytest.approx([0.0, 10.0])


def test_unknown_unit_is_refused() -> None:
    """Kelvin would pass for heat: refused, not guessed."""
    with pytest.raises(UnreadableError, match="comes in 'K'"):
        changed(lambda document: document["hourly_units"].update(temperature_2m_member01="K"))


def test_undefined_member_is_left_out() -> None:
    """Unit 'undefined' is the provider's way to say that it has no such thing here."""
    members = changed(lambda document: document["hourly_units"].update(temperature_2m_member01="undefined"))
    assert "member01" not in members.columns


def test_local_stamps_lose_their_one_offset() -> None:
    """ISO stamps in local time, two hours ahead, are the same hours."""

    def local(document: dict[str, Any]) -> None:
        stamps = pd.to_datetime(document["hourly"]["time"], unit="s") + pd.Timedelta(hours=2)
        document["hourly"]["time"] = [f"{stamp:%Y-%m-%dT%H:%M}" for stamp in stamps]
        document["utc_offset_seconds"] = 7200

    pd.testing.assert_frame_equal(changed(local), read_members(body("normal")))


def test_local_stamps_without_offset_are_refused() -> None:
    """Nobody knows which hour they mean."""

    def local(document: dict[str, Any]) -> None:
        document["hourly"]["time"] = [f"2027-04-{18 + k // 24}T{k % 24:02d}:00" for k in range(96)]
        del document["utc_offset_seconds"]

    with pytest.raises(UnreadableError, match="utc_offset_seconds"):
        changed(local)


def test_members_stand_on_the_forecast_s_hours() -> None:
    """Hours past the members' four days are unknown, and the forecast is otherwise the same."""
    source = (FOLDER.parent / "open-meteo" / "normal.json").read_bytes()
    forecast = OPEN_METEO.parse({FORECAST: source}, fetched_at=None, headers={})
    joined = with_members(forecast, body("normal"))
    assert joined.members_c is not None
    assert joined.members_c.index.equals(forecast.hours.index)
    assert joined.members_c["control"].notna().sum() == 96
    assert joined.hours is forecast.hours


@pytest.mark.parametrize(
    ("name", "match"),
    [
        ("empty", "empty"),
        ("truncated", "cut off"),
        ("error", "models must be given"),
        ("missing-column", "1 members"),
    ],
)
def test_what_is_no_ensemble_is_refused(name: str, match: str) -> None:
    """Nothing, half of it, an error reply, and a control run alone, which has no spread."""
    with pytest.raises(UnreadableError, match=match):
        read_members(body(name))


def test_lists_of_two_lengths_are_refused() -> None:
    """A member with an hour less would be read an hour late or early."""
    with pytest.raises(UnreadableError, match="95 values for 96 hours"):
        changed(lambda document: document["hourly"]["temperature_2m_member02"].pop())


def test_stamps_off_the_hour_are_refused() -> None:
    """Asked for in a zone off the full hour, the provider misprints its stamps."""
    with pytest.raises(UnreadableError, match="timezone=GMT"):
        changed(lambda document: document["hourly"].update(time=[at + 1800 for at in document["hourly"]["time"]]))


def test_request_names_model_and_place() -> None:
    """Another host than the forecast's; models are compulsory; GMT and Unix time, which have no traps."""
    one = request(PLACE, ForecastSettings())
    assert one is not None
    assert one.url.startswith(
        "https://ensemble-api.open-meteo.com/v1/ensemble?latitude=42.94&longitude=-77.3&models="
    )
    assert "timezone=GMT&timeformat=unixtime" in one.url
    assert (one.role, one.optional) == (ENSEMBLE, True)


def test_stand_in_for_the_forecast_is_asked_for_no_members() -> None:
    """Who names a server of their own wants no other asked, and that one need not have members."""
    assert request(PLACE, ForecastSettings(base_urls={"open-meteo": "http://127.0.0.1:8123"})) is None


def test_stand_in_for_the_members_has_a_name_of_its_own() -> None:
    """It may be the same server."""
    here = "http://127.0.0.1:8123"
    one = request(PLACE, ForecastSettings(base_urls={"open-meteo": here, "open-meteo-ensemble": here}))
    assert one is not None
    assert one.url.startswith("http://127.0.0.1:8123/v1/ensemble?")


def test_members_of_another_place_are_refused() -> None:
    """Over 50 km away they tell nothing of this garden; the forecast stands without, with a note."""
    source = (FOLDER.parent / "open-meteo" / "normal.json").read_bytes()
    forecast = OPEN_METEO.parse({FORECAST: source}, fetched_at=None, headers={})
    with pytest.raises(UnreadableError, match="km away"):
        with_members(forecast, body("another-place"))
    alone = joined(forecast, {ENSEMBLE: body("another-place")})
    assert alone.members_c is None
    assert any("km away" in note for note in alone.origin.notes)
