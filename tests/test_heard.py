"""Alerts and second opinions: they can bring plants in, and never let them out."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

import pytest
from weather import FIRST, NOTE, PLACE, SHADED, Weather, garden, hand_state

from hardenoff.forecast.alerts import Alert
from hardenoff.ramp.heard import Heard
from hardenoff.schedule.build import build_schedule

READY = hand_state(air=11.0, sun=11.0, cold=1.0, light_mol=25.0)
NOW = datetime.combine(FIRST, time(6), PLACE.tz)
EVENING = datetime(2027, 5, 4, 2, tzinfo=UTC)


def alert(event, kind, begin=EVENING, hours=8.0):
    """An alert from `begin` on."""
    return Alert(event, kind, begin, begin + timedelta(hours=hours), event, "Moderate", "an invented office")


def today(crop="tomato", *, alerts=(), others=(), low_c=13.5, **batch):
    """Today's record under what was heard."""
    of = garden(crop, state=READY, **batch)
    heard = Heard(tuple(others), tuple(alerts))
    schedule = build_schedule(of, Weather(days=3, low_c=low_c).forecast(), NOW, NOTE, heard=heard)
    return schedule.days[0].batches[0], schedule


def other_source(low_c):
    """A second source with another night's low."""
    forecast = Weather(days=3, low_c=low_c).forecast()
    return replace(forecast, origin=replace(forecast.origin, provider="second"))


def test_a_freeze_warning_brings_tender_plants_in_and_is_named():
    """Whatever the numbers say, a warning in force comes first."""
    day, schedule = today(alerts=[alert("Freeze Warning", "freeze")])
    assert (day.night.verdict, day.night.because) == ("in", "weather")
    assert any("Freeze Warning" in warning.text for warning in day.warnings)
    assert any("Freeze Warning" in reason.text for reason in schedule.nights[-1].batches[0].reasons)


def test_a_hardy_crop_stays_out_under_a_frost_advisory():
    """Kale stands light frost; its own limits decide."""
    day, _ = today("kale", alerts=[alert("Frost Advisory", "frost")])
    assert day.night.verdict == "out"


@pytest.mark.parametrize(
    "off",
    [
        alert("Freeze Watch", "freeze"),
        alert("Freeze Warning", "freeze", EVENING + timedelta(days=1)),
        alert("Flood Warning", "other"),
    ],
    ids=["a watch announces", "another night", "another matter"],
)
def test_what_does_not_bring_them_in(off):
    """Only warnings and advisories of cold, and only in their own hours."""
    assert today(alerts=[off])[0].night.verdict == "out"


def test_a_wind_alert_shuts_open_spots():
    """Only what stands well in the lee stays open."""
    day, _ = today(alerts=[alert("Wind Advisory", "wind", datetime(2027, 5, 3, 10, tzinfo=UTC), 14.0)])
    assert {place.spot for place in day.placements if place.start.hour >= 6} <= {SHADED.name}


def test_a_thunderstorm_warning_leaves_only_roofs():
    """Under a roof or in."""
    storm = alert("Severe Thunderstorm Warning", "thunderstorm", datetime(2027, 5, 3, 10, tzinfo=UTC), 14.0)
    day, _ = today(alerts=[storm])
    assert {place.spot for place in day.placements if place.start.hour >= 6} <= {SHADED.name}
    assert any(reason.code == "rain" for reason in day.reasons)


def test_a_heat_advisory_allows_shade_only():
    """No direct sun while it lasts."""
    day, _ = today(alerts=[alert("Heat Advisory", "heat", datetime(2027, 5, 3, 4, tzinfo=UTC), 24.0)])
    assert day.direct_sun_hours_if_clear == 0.0


def test_the_colder_source_decides_harm():
    """A second source three degrees above freezing brings a tomato in that the first would leave out."""
    alone, _ = today()
    both, schedule = today(others=[other_source(3.0)])
    assert alone.night.verdict == "out"
    assert both.night.verdict == "in"
    assert both.night.air_low_c == alone.night.air_low_c
    assert both.night.odds_harm > alone.night.odds_harm
    assert any("second" in reason.text for reason in schedule.nights[-1].batches[0].reasons)


def test_a_warmer_source_never_lets_them_out():
    """The first source's cold night stays cold."""
    assert today(low_c=3.0, others=[other_source(14.0)])[0].night.verdict == "in"
