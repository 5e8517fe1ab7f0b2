"""An absence, batch by batch: what to do, what each way loses, and its risk with the number behind it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from rich.console import RenderableType
from rich.text import Text

from hardenoff.records import Span, UnitSystem
from hardenoff.schedule.away_records import AwayBatch, AwayComparison, AwayOption, AwayWay, SpotTried
from hardenoff.schedule.records import Reason
from hardenoff.views import words
from hardenoff.views.footer import FROST_CAUTION, forecast_line
from hardenoff.views.terminal import ACT, HEADING, drawn, heading, item, quiet

NAMES: dict[AwayWay, str] = {"hold": "hold inside", "leave": "leave outside", "sitter": "ask a sitter"}
LABEL = 14
"""Columns of the ways' names."""
HARDLY = 0.01
"""Odds below this are told as such: they are never nothing."""


def render(comparison: AwayComparison, width: int = 80, colour: bool = False) -> str:
    """The comparison as text `width` columns wide; batches that fare alike are told together."""
    parts: list[RenderableType] = [Text(_title(comparison), style=HEADING)]
    for names, batch in _alike(comparison):
        parts += [
            heading(f"{words.opening(words.names(names))}: {_advice(batch)}"),
            *_ways(batch, comparison.units),
        ]
    if not comparison.batches:
        parts.append(Text("\nNothing is carried in these days: nothing to compare."))
    return drawn([*parts, *_to_write(comparison), *_footer(comparison)], width=width, colour=colour)


def _title(comparison: AwayComparison) -> str:
    days = words.day(comparison.first)
    if comparison.last != comparison.first:
        days = f"{days} to {words.day(comparison.last)}, and the nights between"
    return f"Away {days}. Sitter there {hours(comparison.sitter)}."


def hours(spans: tuple[Span, ...]) -> str:
    """`08:00-09:00 and 17:30-19:00`."""
    return words.names([span_text(span) for span in spans])


def span_text(span: Span) -> str:
    """`08:00-09:00`, as in the garden file."""
    return "-".join(f"{minute // 60:02d}:{minute % 60:02d}" for minute in (span.start_min, span.end_min))


def _alike(comparison: AwayComparison) -> Iterator[tuple[list[str], AwayBatch]]:
    """Names of the batches for which everything is the same, and one of them."""
    together: dict[AwayBatch, list[AwayBatch]] = {}
    for batch in comparison.batches:
        together.setdefault(replace(batch, batch="", crop="", trays=0), []).append(batch)
    yield from (([batch.batch for batch in some], some[0]) for some in together.values())


# --- what to do ------------------------------------------------------------------------------------


def _advice(batch: AwayBatch) -> str:
    """`leave at the porch, no day lost; 2 carries, 6 min`: fewest days lost, then least work."""
    option = batch.option(batch.best)
    way = f"leave at {option.spot}" if option.way == "leave" else NAMES[option.way]
    return "; ".join(part for part in (f"{way}, {_lost(option)}", _work(option)) if part)


def _lost(option: AwayOption) -> str:
    lost = option.days_lost
    if lost is None:
        return "days lost unknown"
    if lost < 0:
        return f"{_days(-lost)} sooner"
    return f"{_days(lost)} lost" if lost else "no day lost"


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"


def _work(option: AwayOption) -> str:
    if not option.moves:
        return ""
    return f"{option.moves} {'carry' if option.moves == 1 else 'carries'}, {option.minutes:.0f} min"


# --- the three ways --------------------------------------------------------------------------------


def _ways(batch: AwayBatch, units: UnitSystem) -> Iterator[RenderableType]:
    yield _labelled("at home", _at_home(batch))
    for option in batch.options:
        yield _labelled(NAMES[option.way], _summary(batch, option))
        said = _refused(option.spots, units) if option.spots and not option.allowed else _said(option, units)
        yield from (item("-", line, indent=LABEL + 2) for line in said)


def _labelled(name: str, text: str) -> RenderableType:
    return item(f"{name:<{LABEL - 1}}", text)


def _at_home(batch: AwayBatch) -> str:
    if batch.home is None:
        return "not hardened in the days looked at"
    return f"hardened {words.day(batch.home)}{', before you leave' if batch.hardened_before else ''}"


def _summary(batch: AwayBatch, option: AwayOption) -> str:
    """Where and when, the date, what is lost, the work."""
    if not option.allowed:
        return "no spot keeps every limit" if option.spots else "not possible"
    again = "still or again hardened" if batch.hardened_before else "hardened"
    on = option.hardened_on
    finish = "not hardened in the days looked at" if on is None else f"{again} {words.day(on)}"
    where = ""
    if option.put_at is not None and option.fetch_at is not None:
        out = f"{words.day(option.put_at.date())} {words.clock(option.put_at)}"
        back = f"{words.day(option.fetch_at.date())} {words.clock(option.fetch_at)}"
        where = f"{option.spot}, out {out}, in from {back}"
    return "; ".join(part for part in (where, f"{finish}, {_lost(option)}", _work(option)) if part)


def _refused(spots: tuple[SpotTried, ...], units: UnitSystem) -> Iterator[str]:
    """The first hour and limit that fails at each spot; spots that fail alike together."""
    together: dict[tuple[str, str], list[str]] = {}
    for tried in spots:
        at = tried.failed_at
        when = "" if at is None else f"{words.day(at.date())} {words.clock(at)}"
        why = "" if tried.why is None else words.reason(tried.why, units)
        together.setdefault((when, why), []).append(tried.spot)
    for (when, why), names in together.items():
        yield f"{words.names(names)}, {when}: {why}"


def _said(option: AwayOption, units: UnitSystem) -> Iterator[str]:
    yield from (_reason(why, units) for why in option.reasons)
    if option.unknown_nights:
        yield f"not known yet, so spent inside: {_nights(option.unknown_nights)}"


def _nights(evenings: tuple[date, ...]) -> str:
    """Each by both of its dates; three and more that follow each other by the first and the last."""
    told = [words.night_of(on, on + timedelta(days=1)) for on in evenings]
    if len(told) > 2 and (evenings[-1] - evenings[0]).days == len(told) - 1:
        return f"the {len(told)} nights from {told[0]} to {told[-1]}"
    return f"the {'night' if len(told) == 1 else 'nights'} {words.names(told)}"


def _reason(why: Reason, units: UnitSystem) -> str:
    if why.code == "odds_harm" and why.value is not None and why.value < HARDLY:
        return f"{why.text}: under {words.percent(HARDLY)}, limit {words.percent(why.limit)}"
    return words.reason(why, units)


# --- below -----------------------------------------------------------------------------------------


def _to_write(comparison: AwayComparison) -> Iterator[RenderableType]:
    """The line that lets the plan know; verbatim, in any width."""
    if comparison.garden_line is None:
        yield Text("\ngarden.toml has these days already.")
    else:
        yield Text("\nFor the plan to know of it, write this under [carer] in garden.toml:")
        yield Text(comparison.garden_line, no_wrap=True, overflow="ignore", style=HEADING)
    spans = ", ".join(f'"{span_text(span)}"' for span in comparison.sitter)
    yield Text("With a sitter, write each day under [carer.days] instead, and no away for it:")
    yield Text(f'"{comparison.first}" = [{spans}]', no_wrap=True, overflow="ignore")


def _footer(comparison: AwayComparison) -> Iterator[RenderableType]:
    note = comparison.forecast
    yield Text("")
    yield Text(forecast_line(note), style=ACT if note.status in ("stale", "none") else "dim")
    if note.attribution is not None:
        yield quiet(note.attribution)
    yield from (quiet(f"Note: {line}") for line in note.notes)
    yield Text(FROST_CAUTION)
