"""The answer for one batch and one day in three lines to be read aloud: where and when, sun, wind, tonight."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Literal

from hardenoff.records import INSIDE, UnitSystem
from hardenoff.schedule.records import BatchDay, NightAnswer, Placement, Reason, StripHour
from hardenoff.views import words

WHOLE_DAY_H = 24.0
NOON, EVENING = 12, 17
"""Hours from which a first outing is called this afternoon's and this evening's."""
NEAREST = ("nearest", "nearest_sun", "nearest_light")
"""Codes of what comes nearest to an outing on a day inside."""
WHATEVER_THE_LOW = {
    "rule": "no night out is due",
    "absent": "nobody is there to carry",
    "unknown": "the morning after is unknown",
}
"""Why they are inside where it is not for the night's own weather."""
KINDS_OF_NIGHT = {"clear": "clear nights", "other": "cloudy or windy nights"}
OTHER_WEATHER = "other weather is against it"

Decider = Literal["air", "leaf", "cold odds", "harm odds", "other"]
"""What decides a night: a low against its limit, its odds where the low itself would pass, or no low at all."""


def answer(batch: BatchDay, units: UnitSystem) -> str:
    """Everything a person in the doorway needs, the verdict as its first word."""
    parts = [outing(batch), *(_why_not(batch, units) if batch.verdict != "out" else [])]
    if batch.verdict == "out":
        parts += [sun(batch), gusts(batch.strip, units)]
    if batch.water_by is not None:
        parts.append(f"Water by {words.clock(batch.water_by)}.")
    parts += alerts(batch.warnings)
    if batch.night is not None:
        parts.append(tonight(batch.night, units))
    return " ".join(part for part in parts if part)


def alerts(said: Iterable[Reason]) -> list[str]:
    """Official alerts that decide something, each as a sentence with whose it is."""
    return [f"{words.opening(why.text)}{_by(why.source)}." for why in said if why.code == "alert"]


def _by(source: str | None) -> str:
    return "" if source is None else f" ({source})"


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
        return f"out {_later(place.start)}{words.clock(place.start)} ({place.spot})"
    return f"out all day ({place.spot})" if _is_midnight(place.end) else f"out since the night ({place.spot})"


def _later(start: datetime) -> str:
    """Said before the time where the tray can stay where it is this morning."""
    return "this evening " if start.hour >= EVENING else "this afternoon " if start.hour >= NOON else ""


def _is_midnight(at: datetime) -> bool:
    return (at.hour, at.minute) == (0, 0)


def _why_not(batch: BatchDay, units: UnitSystem) -> list[str]:
    """What the day costs and what comes nearest to an outing, which can be acted on; then what forbids it."""
    nearest = [why for why in batch.reasons if why.code in NEAREST][:1]
    forbids = [why for why in batch.reasons if why.code not in NEAREST][:1]
    costs = [] if batch.hold_costs is None else [f"Costs: {batch.hold_costs}."]
    return [*costs, *(f"{words.opening(words.reason(why, units))}." for why in (*nearest, *forbids))]


def sun(batch: BatchDay) -> str:
    """Likely, if clear, limit: three numbers that belong together; the first two once where they are the same."""
    likely = words.duration(batch.direct_sun_hours_likely)
    clear = words.duration(batch.direct_sun_hours_if_clear)
    if likely == clear == words.duration(0.0):
        return "No direct sun."
    limit = sun_limit(batch)
    hours = likely if likely == clear else f"{likely} likely, {clear} if clear"
    return f"Direct sun {hours}, {'no limit' if limit is None else f'limit {limit}'}."


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
    at_plant = words.number_only(hour.gust_at_plant_m_s, "speed", units)
    return f"Gusts {words.speed(gust, units)} at {words.clock(hour.at)}, {at_plant} at the plants."


# --- the night -------------------------------------------------------------------------------------


def tonight(night: NightAnswer, units: UnitSystem) -> str:
    """`Tonight inside: 46°F in the air, limit 55°F.`"""
    where = f" ({night.spot})" if night.spot is not None else ""
    place = {"out": f"out{where}", "cover": f"out under the cover{where}"}.get(night.verdict, "inside")
    if night.verdict == "in" and night.action == "cover":
        place = f"cover what is planted{where}"
    if night.air_low_c is None:
        return f"Tonight {place}: the low is unknown, keep them inside."
    return f"Tonight {place}: {night_numbers(night, units)}{own_lows(night, units)}."


def night_numbers(night: NightAnswer, units: UnitSystem) -> str:
    """The number that decides beside its limit; the cause first, where it is another than the weather."""
    cause = WHATEVER_THE_LOW.get(night.because) if night.verdict == "in" else None
    low = _deciding_low(night, units)
    return f"{cause}, {low}" if cause else low


def own_lows(night: NightAnswer, units: UnitSystem) -> str:
    """`; forecast 52°F; your own lows: 5 nights, 3.6°F colder on clear nights`; nothing where none taught it."""
    if night.offset_nights == 0 or night.offset_c is None or night.offset_regime is None:
        return ""
    count = f"{night.offset_nights} night{'' if night.offset_nights == 1 else 's'}"
    way = "colder" if night.offset_c >= 0.0 else "warmer"
    step = words.temperature_step(abs(night.offset_c), units)
    forecast = words.temperature(night.forecast_low_c, units)
    return f"; forecast {forecast}; your own lows: {count}, {step} {way} on {KINDS_OF_NIGHT[night.offset_regime]}"


def _deciding_low(night: NightAnswer, units: UnitSystem) -> str:
    air, check = words.temperatures(night.air_low_c, night.check_below_c, units)
    leaf, harm = words.temperatures(night.leaf_low_c, night.harm_below_c, units)
    match decider(night):
        case "air":
            return f"{air} in the air, limit {check}"
        case "leaf":
            return f"{leaf} at the leaf, harm below {harm}; {air} in the air"
        case "harm odds":
            return f"{leaf} at the leaf, {words.percent(night.odds_harm)} odds of harm, below {harm}"
        case "cold odds":
            return f"{air} in the air, {words.percent(night.odds_check)} odds of less than {check}"
        case "other":
            low = f"low {words.temperature(night.air_low_c, units)}"
            return f"{OTHER_WEATHER}, {low}" if night.because == "weather" else low


def decider(night: NightAnswer) -> Decider:
    """What to show of a night whose low is known: the low where it is below its limit, else the odds."""
    if night.verdict == "out":
        return "air"
    match night.decided_by:
        case "check":
            below = night.air_low_c is None or night.air_low_c < night.check_below_c
            return "air" if below else "cold odds"
        case "harm":
            below = night.leaf_low_c is None or night.leaf_low_c < night.harm_below_c
            return "leaf" if below else "harm odds"
        case _:
            return "other"
