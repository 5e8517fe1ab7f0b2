"""A trial on the screen: who was through when, what the plants met, and whether the plan was ever worse."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.text import Text

from hardenoff.tables import find_crop
from hardenoff.trial.records import LONGEST_DAYS, MEASURES, TOLERANCE, Line, Player, Trial, Verdict
from hardenoff.views import words
from hardenoff.views.terminal import GOOD, HEADING, QUIET, WAIT, columns, drawn, heading, item

if TYPE_CHECKING:
    from datetime import date

NAMES: dict[Player, str] = {
    "planner": "the plan",
    "foresight": "knowing the weather",
    "chart": "chart by calendar",
    "thermometer": "chart + thermometer",
    "straight": "straight out",
}
HEADINGS = {
    "check_degree_h": "cold night",
    "leaf_degree_h": "cold leaf",
    "day_degree_h": "cold day",
    "sun_h": "sun",
    "gust_h": "gusts",
}
MEANINGS = {
    "check_degree_h": "night air below the crop's check limit, degree-hours",
    "leaf_degree_h": "a leaf below its harm limit at night, degree-hours",
    "day_degree_h": "air by day below the rule's least, degree-hours",
    "sun_h": "direct sun beyond 1.25 times the common-practice table for that many days out, hours",
    "gust_h": "gusts at the plants above the rule's limit, hours",
}
ASSUMED = (
    "Harm is what the plants met, not what became of them: limits are sharp here, and a plant's are not.",
    "A degree-hour counts the same in a long mild chill as in a short hard one; nothing here knows of soil, "
    "pests, watering, wet leaves or the plants' own state.",
    "The weather is a station's or a model's: a garden is colder or calmer in its own way, and both sides would "
    "meet that.",
    "A typical year holds typical months, not the worst ones.",
    "All first days, crops and carers of a place share a seed's forecasts: one bad morning counts in every run "
    "that lived it.",
    "Nobody looks after the trays between two moves: who is at home can do better, with the plan and with a "
    "chart.",
    "The plan's own limits on light and its bookkeeping of what the plants are used to are not among the "
    "measures.",
)
OFTEN = 0.95


def render(trials: Sequence[Trial], width: int = 80, colour: bool = False) -> str:
    """All places, one after the other."""
    parts: list[RenderableType] = []
    for trial in trials:
        parts += _place(trial)
    parts.append(heading("What is counted"))
    parts += [item(f"{HEADINGS[name]}:", Text(MEANINGS[name])) for name in MEASURES]
    parts.append(heading("What this can't know"))
    parts += [item("-", Text(one)) for one in ASSUMED]
    return drawn(parts, width=width, colour=colour)


def _place(trial: Trial) -> Iterator[RenderableType]:
    yield Text.assemble(
        (f"{trial.place}", HEADING), f" ({trial.latitude:.2f}, {trial.longitude:.2f}): {trial.weather}"
    )
    seeds = f"{len(trial.seeds)} seeds" if trial.seeds else "no seeds"
    yield Text(
        f"{trial.starts} first days from {words.day(trial.first_start)} to {words.day(trial.last_start)}, "
        f"{seeds}. Forecasts that are off: {trial.forecasts}.",
        style=QUIET,
    )
    for note in trial.notes:
        yield item("!", Text(note, style=WAIT))
    for verdict in _first_of_each(trial.verdicts):
        yield heading(f"{crop_name(verdict.crop)}, carer {verdict.carer}")
        yield _table(line for line in trial.lines if (line.crop, line.carer) == (verdict.crop, verdict.carer))
        for one in trial.verdicts:
            if (one.crop, one.carer) == (verdict.crop, verdict.carer):
                yield from _verdict(one)
        if verdict.unfinishable:
            yield item("!", Text(_unfinishable(verdict.unfinishable), style=WAIT))
    yield Text("")


def _first_of_each(verdicts: Sequence[Verdict]) -> Iterator[Verdict]:
    seen = set()
    for one in verdicts:
        if (one.crop, one.carer) not in seen:
            seen.add((one.crop, one.carer))
            yield one


def crop_name(key: str) -> str:
    """The crop in words, at the beginning of a line."""
    crop = find_crop(key)
    return words.opening(key if crop is None else crop.name)


def line_name(line: Line) -> str:
    """Who it was, and by what forecast."""
    name = NAMES[line.player]
    if line.player not in ("planner", "thermometer"):
        return name
    return f"{name}, {'off' if line.noisy else 'true'}"


def days_in_words(line: Line) -> str:
    """`13 (12-14)`; `>60` where most were not through."""
    if line.days_median is None:
        return f">{LONGEST_DAYS}"
    last = f">{LONGEST_DAYS}" if line.days_ninetieth is None else f"{line.days_ninetieth:.0f}"
    first = f">{LONGEST_DAYS}" if line.days_tenth is None else f"{line.days_tenth:.0f}"
    return f"{line.days_median:g} ({first}-{last})"


def _table(lines: Iterator[Line]) -> RenderableType:
    table = columns(
        "", "days", *("\n".join(HEADINGS[name].split()) for name in MEASURES), "moves", right=range(1, 8)
    )
    for line in lines:
        harm = line.harm_mean.measures
        cells = [f"{harm[name]:.2f}" for name in MEASURES]
        table.add_row(line_name(line), days_in_words(line), *cells, f"{line.moves_mean:.0f}")
    return table


def _verdict(verdict: Verdict) -> Iterator[RenderableType]:
    share = verdict.no_worse / verdict.pairs
    forecasts = "forecasts that are off" if verdict.noisy else "true forecasts"
    style = GOOD if share >= OFTEN else WAIT
    yield Text(
        f"With {forecasts}: no measure above the chart's in {verdict.no_worse} of {verdict.pairs} "
        f"({share:.1%}){_above(verdict)}.",
        style=style,
    )
    if verdict.heavy:
        yield Text(
            f"  Where the chart's total is above 10, the plan's is at most a quarter in "
            f"{verdict.heavy_quartered} of {verdict.heavy}."
        )


def _above(verdict: Verdict) -> str:
    above = [f"{HEADINGS[name]} {count}" for name, count in verdict.worse_by_measure.items() if count]
    return f"; above: {', '.join(above)}" if above else ""


def _unfinishable(starts: Sequence[date]) -> str:
    said = words.names([words.day(start) for start in starts])
    return f"No plan is through within {LONGEST_DAYS} days, not even knowing the weather, from {said}."


def tolerance_in_words() -> str:
    """`1 degree-hour, 0.5 hours of sun, 0.5 hours of gusts`."""
    return (
        f"{TOLERANCE['check_degree_h']:g} degree-hour, {TOLERANCE['sun_h']:g} hours of sun, "
        f"{TOLERANCE['gust_h']:g} hours of gusts"
    )
