"""Every day to plant-out, one row a day for each batch, and what is known of the end."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rich.console import RenderableType
from rich.text import Text

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import SURE_DAYS, Criterion, Finish, FinishOdds, GoodEnough, Missed, Schedule
from hardenoff.views import footer, words
from hardenoff.views.plan_rows import Row, headings, laid_out, room_for_places, rows
from hardenoff.views.terminal import HEADING, QUIET, WAIT, drawn, heading

MET = {True: "yes", False: "not yet", None: "not known"}
MET_WIDTH = max(map(len, MET.values()))
KEY = (
    "sun, clear, limit: hours of direct sun that are likely, if clear, allowed. ramp: ramp-days so far. "
    "night: the low of the air there/its limit; leaf: of the leaf, where that decides; (12): a low that would do, "
    "but no night out is due, nobody is there or other weather is against it. "
    f"~ past day {SURE_DAYS}; 40 % cold: the chance that the air falls below its limit; "
    "15 % harm: that the leaf does. "
    "? past the forecast, no verdict."
)


def render(schedule: Schedule, width: int = 80, colour: bool = False) -> str:
    """The plan as text `width` columns wide; batches whose days are alike share a table."""
    parts: list[RenderableType] = []
    for batches, days in _alike(schedule):
        parts += [heading(words.opening(words.names(batches))), *_ends(schedule, batches)]
        title = headings(schedule.units)
        room = room_for_places((title, *days), width)
        parts += [Text(laid_out(title, room), style=HEADING)]
        parts += [Text(laid_out(row, room), style=_style(row)) for row in days]
    parts += [*footer.changed_lines(schedule), *footer.forecast_lines(schedule), Text(KEY, style=QUIET)]
    return drawn(parts, width=width, colour=colour).lstrip("\n")


def _alike(schedule: Schedule) -> Iterator[tuple[list[str], tuple[Row, ...]]]:
    """Batches with their rows, merged where every row is the same."""
    together: dict[tuple[Row, ...], list[str]] = {}
    for name in words.unique(batch.batch for day in schedule.days for batch in day.batches):
        together.setdefault(rows(schedule, name), []).append(name)
    yield from ((batches, days) for days, batches in together.items())


def _style(row: Row) -> str:
    return QUIET if row.certainty != "forecast" else WAIT if row.is_hold else ""


def _ends(schedule: Schedule, batches: list[str]) -> Iterator[RenderableType]:
    """When the batches are hardened, and what is still missing; said once where it is the same for all."""
    said: dict[tuple[str, ...], list[str]] = {}
    for finish in schedule.finishes:
        if finish.batch in batches:
            lines = (
                _end(finish),
                *_odds(finish.odds),
                *_missed(finish.missed),
                *_good_enough(finish, schedule.units),
                *_ticks(finish, schedule.units),
            )
            said.setdefault(lines, []).append(finish.batch)
    for (sentence, *rest), some in said.items():
        yield Text(sentence if len(said) == 1 else f"{words.opening(words.names(some))}: {sentence}")
        yield from (Text(line) for line in rest)


def _end(finish: Finish) -> str:
    """`Hardened earliest Sat 15 May, likely Mon 17 May; plant out Tue 18 May.`"""
    dates = {"earliest": finish.earliest, "likely": finish.likely, "latest": finish.latest}
    known = {name: words.day(on) for name, on in dates.items() if on is not None}
    if any(reason.code == "planted" for reason in finish.reasons):
        return "Planted out: nothing to carry, its nights are watched."
    if not known:
        why = "; ".join(reason.text for reason in finish.reasons)
        return f"Never hardened under this rule: {why or 'no reason given'}."
    if len(known) > 1 and len(set(known.values())) == 1:
        parts = [f"Hardened {next(iter(known.values()))}"]
    else:
        parts = [f"Hardened {', '.join(f'{name} {on}' for name, on in known.items())}"]
    parts.append(f"plant out {words.day(finish.plant_out)}" if finish.plant_out else "plant-out not known yet")
    if finish.wait_until is not None:
        parts.append(f"not started yet: a first outing on {words.day(finish.wait_until)} would finish sooner")
    return "; ".join(parts) + "."


def _odds(odds: FinishOdds | None) -> Iterator[str]:
    """`In 26 of 51 forecasts hardened by Thu 13 May, in 46 of 51 by Sat 15 May.`"""
    if odds is None:
        return
    half, most, looked = (
        odds.half,
        odds.nine_in_ten,
        f"within the days looked at (to {words.day(odds.looked_until)})",
    )
    if half is None:
        parts = [f"In {odds.ever or 'none'} of {odds.members} forecasts hardened {looked}"]
    else:
        parts = [f"In {half.members} of {odds.members} forecasts hardened by {words.day(half.on)}"]
        if most is None:
            parts.append(f"in {odds.members - odds.ever} not {looked}")
        elif most != half:
            parts.append(f"in {most.members} of {odds.members} by {words.day(most.on)}")
    last = odds.looked_until if most is None else most.on
    alike = f"; past {words.day(odds.apart_until)} all {odds.members} are alike"
    yield ", ".join(parts) + (alike if last > odds.apart_until else "") + "."


def _missed(spell: Missed | None) -> Iterator[str]:
    """`2 days missed: 6.0 -> 5.7 ramp-days, hardened Thu 20 May -> Sun 23 May.`"""
    if spell is None:
        return
    days = "One day" if spell.days == 1 else f"{spell.days} days"
    dates = [words.day(on) if on is not None else "never" for on in (spell.finish_without, spell.finish_now)]
    moved = "no later for it" if dates[0] == dates[1] else f"hardened {dates[0]} -> {dates[1]}"
    yield f"{days} missed: {spell.level_before:.1f} -> {spell.level_now:.1f} ramp-days, {moved}."


def _good_enough(finish: Finish, units: UnitSystem) -> Iterator[str]:
    """`Good enough: plant out Thu 13 May at 17:00; missing by then: nights out: 1, needs 2 nights.`"""
    evening = finish.good_enough
    if evening is None or _is_overtaken(evening, finish.plant_out):
        return
    if evening.at is None:
        why = "" if evening.reason is None else f": {words.reason(evening.reason, units)}"
        yield f"Good enough: no evening in this forecast{why}."
        return
    when = f"{words.day(evening.at.date())} at {words.clock(evening.at)}"
    gentle = "" if evening.reason is None else f" ({evening.reason.text})"
    yield f"Good enough: plant out {when}{gentle}; {_missing(evening, units)}."


def _is_overtaken(evening: GoodEnough, plant_out: date | None) -> bool:
    """Whether the batch can be planted out before that, with everything met."""
    return plant_out is not None and (evening.at is None or evening.at.date() > plant_out)


def _missing(evening: GoodEnough, units: UnitSystem) -> str:
    if not evening.missing:
        return "nothing is missing by then"
    shade = "; shade them at first" if any(each.code == "light" for each in evening.missing) else ""
    return f"missing by then: {'; '.join(_unmet(each, units) for each in evening.missing)}{shade}"


def _unmet(each: Criterion, units: UnitSystem) -> str:
    return f"{_measured(each, units)}{' (not known)' if each.met is None else ''}"


def _ticks(finish: Finish, units: UnitSystem) -> Iterator[str]:
    """`  not yet    air: 10.5, needs 11.7 ramp-days`: each criterion after its answer."""
    if finish.criteria:
        yield "Ready today?"
    for each in finish.criteria:
        yield f"  {MET[each.met]:<{MET_WIDTH}}  {_measured(each, units)}"


def _measured(each: Criterion, units: UnitSystem) -> str:
    """`air: 9, needs 11.7 ramp-days`; `gusts ...: 10 km/h, at most 40 km/h`."""
    if each.limit is None or each.value is None:
        return each.text
    limit = words.amount(each.limit, each.unit, units)
    if each.at_most:
        return f"{each.text}: {words.amount(each.value, each.unit, units)}, at most {limit}"
    return f"{each.text}: {round(each.value, 1):g}, needs {limit}"
