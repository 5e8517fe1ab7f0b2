"""The answer for one batch and one day in a sentence or two: where, sun, wind, water, tonight."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from hardenoff.records import INSIDE, UnitSystem
from hardenoff.schedule.records import BatchDay, NightAnswer, Placement, Reason, StripHour
from hardenoff.views import words

WHOLE_DAY_H = 24.0
NIGHT_WHY = {
    "rule": ", nights out come later in the ramp",
    "absent": ", nobody is there to carry",
}


def answer(batch: BatchDay, units: UnitSystem) -> str:
    """Everything a person in the doorway needs, the verdict as its first word."""
    parts = [outing(batch), *([_why_not(batch, units)] if batch.verdict != "out" else [])]
    if batch.verdict == "out":
        parts += [sun(batch), gusts(batch.strip, units)]
    if batch.water_by is not None:
        parts.append(f"Water by {words.clock(batch.water_by)}.")
    parts += alerts(batch.warnings)
    if batch.night is not None:
        parts.append(tonight(batch.night, units))
    return " ".join(part for part in parts if part)


def alerts(said: Iterable[Reason]) -> list[str]:
    """Official alerts that decide something, each as a sentence."""
    return [f"{words.opening(why.text)}." for why in said if why.code == "alert"]


# --- the day ---------------------------------------------------------------------------------------


def outing(batch: BatchDay) -> str:
    """`out 07:15 (carport), in 18:00; sheltered.`"""
    if batch.verdict == "out":
        way = "; sheltered" if batch.way == "sheltered" else ""
        return f"{path(batch.placements)}{way}."
    if batch.verdict == "hold":
        return "hold, inside today."
    if batch.verdict is None:
        return "open: past the forecast."
    return {"sown": "sown, not out yet.", "planted": "planted out."}.get(batch.stage, "inside today.")


def path(placements: tuple[Placement, ...]) -> str:
    """The day's places in order, with the times to carry."""
    steps: list[str] = []
    last: Placement | None = None
    for place in placements:
        if last is None:
            steps.append(_first_step(place))
        elif last.end == place.start:
            steps.append(f"{words.clock(place.start)} ({place.spot})")
        else:
            steps += [f"in {words.clock(last.end)}", f"out {words.clock(place.start)} ({place.spot})"]
        last = place
    if last is not None and not _is_midnight(last.end):
        steps.append(f"in {words.clock(last.end)}")
    return ", ".join(steps)


def _first_step(place: Placement) -> str:
    if not _is_midnight(place.start):
        return f"out {words.clock(place.start)} ({place.spot})"
    return f"out all day ({place.spot})" if _is_midnight(place.end) else f"out since the night ({place.spot})"


def _is_midnight(at: datetime) -> bool:
    return (at.hour, at.minute) == (0, 0)


def _why_not(batch: BatchDay, units: UnitSystem) -> str:
    """The first reason against an outing, and what the day costs."""
    said = [f"{words.opening(words.reason(batch.reasons[0], units))}."] if batch.reasons else []
    if batch.hold_costs is not None:
        said.append(f"Costs: {batch.hold_costs}.")
    return " ".join(said)


def sun(batch: BatchDay) -> str:
    """Likely, if clear, limit: three numbers that belong together."""
    limit = sun_limit(batch)
    return (
        f"Direct sun {words.duration(batch.direct_sun_hours_likely)} likely, "
        f"{words.duration(batch.direct_sun_hours_if_clear)} if clear, "
        f"{'no limit' if limit is None else f'limit {limit}'}."
    )


def sun_limit(batch: BatchDay) -> str | None:
    """The day's most direct sun; None where the rule gives no number or a whole day is allowed."""
    limit = batch.limits.direct_sun_hours
    return None if limit is None or limit >= WHOLE_DAY_H else words.duration(limit)


def gusts(strip: tuple[StripHour, ...], units: UnitSystem) -> str:
    """The strongest gust of the hours outside, in the forecast and at the plants."""
    outside = [hour for hour in strip if hour.spot != INSIDE]
    known = [(hour.gust_m_s, hour) for hour in outside if hour.gust_m_s is not None]
    if not outside:
        return ""
    if not known:
        return "Gusts unknown."
    gust, hour = max(known, key=lambda pair: pair[0])
    at_plant = words.speed(hour.gust_at_plant_m_s, units)
    return f"Gusts to {words.speed(gust, units)} at {words.clock(hour.at)}, {at_plant} at the plants."


# --- the night -------------------------------------------------------------------------------------


def tonight(night: NightAnswer, units: UnitSystem) -> str:
    """`Tonight inside: 46°F in the air, limit 55°F.`"""
    where = f" ({night.spot})" if night.spot is not None else ""
    place = {"out": f"out{where}", "cover": f"out under the cover{where}"}.get(night.verdict, "inside")
    if night.air_low_c is None:
        return f"Tonight {place}: the low is unknown, keep them inside."
    return f"Tonight {place}{NIGHT_WHY.get(night.because, '')}: {night_numbers(night, units)}."


def night_numbers(night: NightAnswer, units: UnitSystem) -> str:
    """The number that decides beside its limit: the air's, or the leaf's where the air alone would pass."""
    air, check = words.temperatures(night.air_low_c, night.check_below_c, units)
    said = f"{air} in the air, limit {check}"
    air_passes = night.air_low_c is not None and night.air_low_c >= night.check_below_c
    if night.verdict in ("in", "cover") and night.because == "weather" and air_passes:
        leaf, harm = words.temperatures(night.leaf_low_c, night.harm_below_c, units)
        said += f"; {leaf} at the leaf, harm below {harm}"
    return said
