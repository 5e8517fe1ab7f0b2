"""The cold watch: what has to be done tonight, then the numbers behind it; the running night before the coming."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import BatchNight, NightAnswer, Schedule, WatchedNight
from hardenoff.views import footer, why, words
from hardenoff.views.answers import WHATEVER_THE_LOW, alerts, night_numbers, own_lows
from hardenoff.views.terminal import ACT, GOOD, HEADING, WAIT, columns, drawn, item, quiet

ORDERS = {"bring_in": "BRING IN", "cover": "COVER", "uncover": "UNCOVER"}
VERDICTS = {"out": "stays out", "cover": "out, covered", "in": "inside", "unknown": "unknown"}
WHY_INSIDE = {**WHATEVER_THE_LOW, "unknown": "unknown, keep inside"}
SAID_WITH_THE_VERDICT = ("alert", "second_low")
"""Reasons of others that stand beside the verdict, not below the table."""


def render(schedule: Schedule, width: int = 80, colour: bool = False) -> str:
    """All watched nights as text `width` columns wide."""
    parts: list[RenderableType] = []
    for night in schedule.nights:
        parts += [Text("")] if parts else []
        parts += [
            *_title(night),
            *_orders(night, schedule.units),
            *_numbers(night, schedule.units),
            *why.draw_reasons(night.batches, schedule.units, told=SAID_WITH_THE_VERDICT),
        ]
    if not schedule.nights:
        parts.append(Text("No night to watch: no batch is due to be out."))
    parts += [*footer.forecast_lines(schedule), Text(footer.FROST_CAUTION, style=WAIT)]
    return drawn(parts, width=width, colour=colour)


def _title(night: WatchedNight) -> Iterator[RenderableType]:
    name = "This night, now running" if night.running else "Tonight"
    yield Text(f"{name}: {words.night_of(night.evening, night.morning)} {night.morning.year}", style=HEADING)


def _orders(night: WatchedNight, units: UnitSystem) -> Iterator[RenderableType]:
    """One line for all batches with the same verdict and the same numbers; what has to be done comes first."""
    alike: dict[tuple[bool, str, str], list[str]] = {}
    for one in night.batches:
        acts = one.night.action != "none"
        warned, numbers = alerts(one.reasons), _sentence(one, units)
        said = " ".join([*warned, words.opening(numbers) if warned else numbers])
        alike.setdefault((not acts, _order(one.night), said), []).append(one.batch)
    for (rests, order, sentence), who in sorted(alike.items(), key=lambda entry: entry[0][0]):
        marker = Text(
            order.ljust(12), style=GOOD if rests and order == VERDICTS["out"] else WAIT if rests else ACT
        )
        yield item(marker, f"{words.opening(words.names(who))}: {sentence}")


def _order(night: NightAnswer) -> str:
    """What to do, in capitals; where nothing has to be done, how things stand."""
    return ORDERS.get(night.action) or VERDICTS[night.verdict]


def _sentence(one: BatchNight, units: UnitSystem) -> str:
    """What decides, where, and what other sources say of the same night."""
    others = [f"; {words.reason(reason, units)}" for reason in one.reasons if reason.code == "second_low"]
    night = one.night
    if night.air_low_c is None:
        said = WHY_INSIDE.get(night.because, "the low is unknown")
    else:
        where = "" if night.spot is None else f" ({night.spot})"
        said = f"{night_numbers(night, units)}{where}{own_lows(night, units)}"
    return f"{said}{''.join(others)}."


def _numbers(night: WatchedNight, units: UnitSystem) -> Iterator[RenderableType]:
    """Every number of the night in a table; `?` where it is unknown."""
    degrees = words.unit_of("temperature", units)
    offsets = any(one.night.offset_nights > 0 or one.night.offset_c not in (0.0, None) for one in night.batches)
    heads = ("forecast", *(("offset",) if offsets else ()), "here", *HEADS)
    table = columns(f"low, {degrees}", *heads, right=range(1, 1 + len(heads)))
    for one in night.batches:
        forecast, *cells = _cells(one, units)
        offset = (words.step_only(_change(one.night), units),) if offsets else ()
        table.add_row(one.batch, forecast, *offset, *cells)
    yield Text("")
    yield item("", table)
    others = any(reason.code == "second_low" for one in night.batches for reason in one.reasons)
    key = f"{FORECAST_KEY}{OFFSET_KEY if offsets else ''}{KEY}{COLDER_DECIDES if others else ''}."
    yield item("", quiet(key))


def _change(night: NightAnswer) -> float | None:
    """What the spot does to the forecast's low: minus where it is colder."""
    return None if night.offset_c is None else -night.offset_c


HEADS = ("1 in 10", "leaf", "check", "harm", "odds", "about")
FORECAST_KEY = "forecast: the open air's low; "
OFFSET_KEY = "offset: what this spot adds to it; "
KEY = (
    "here: the air's at this spot; 1 in 10: one such night in ten is colder; "
    "leaf: the leaf's own low; check: air below this sets growth back; harm: a leaf below this is injured; "
    "odds: of check / of harm; about: when"
)
COLDER_DECIDES = ". Of two sources, the colder decides about harm"


def _cells(one: BatchNight, units: UnitSystem) -> tuple[str, ...]:
    night = one.night
    degrees = (
        night.forecast_low_c,
        night.air_low_c,
        night.low_1_in_10_c,
        night.leaf_low_c,
        night.check_below_c,
        night.harm_below_c,
    )
    odds = "/".join(
        "?" if share is None else f"{share * 100:.0f}" for share in (night.odds_check, night.odds_harm)
    )
    at = "?" if night.low_at is None else words.clock(night.low_at)
    return (*(words.number_only(celsius, "temperature", units) for celsius in degrees), f"{odds} %", at)
