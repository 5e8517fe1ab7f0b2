"""A trial as a page of Markdown: the tables, what they are made of, and what they can't know."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from hardenoff.trial.records import LONGEST_DAYS, MEASURES, Line, Trial, Verdict
from hardenoff.views import words
from hardenoff.views.trial import (
    ASSUMED,
    HEADINGS,
    MEANINGS,
    crop_name,
    days_in_words,
    line_name,
    tolerance_in_words,
)

PLAYERS_IN_WORDS = (
    (
        "the plan",
        "this program, each morning with that morning's forecast: *true* if it comes true, *off* with errors",
    ),
    ("knowing the weather", "the same, knowing what is to come, without margins"),
    ("chart by calendar", "the same rule by the calendar, whatever the weather"),
    (
        "chart + thermometer",
        "the same, but a day is held, and tried again tomorrow, if it is too cold when the tray is to go out; a "
        "night is held if the forecast low is below the check limit",
    ),
    ("straight out", "outside from the first day on, day and night"),
)


def markdown(trials: Sequence[Trial], *, title: str = "Trial", picture: str | None = None) -> str:
    """The whole page; `picture`: a file beside it."""
    parts = [f"# {title}", "", _opening(), ""]
    if picture is not None:
        parts += [f"![Days and harm, player by player]({picture})", ""]
    parts += ["## The players", "", *_rows(("who", "what they do"), PLAYERS_IN_WORDS), ""]
    meanings = [(HEADINGS[name], MEANINGS[name]) for name in MEASURES]
    parts += ["## What is counted", "", *_rows(("column", "what"), meanings), ""]
    parts += [
        "All for hours really spent outside, by the weather as it was, against the limits for that many days out. "
        "A run ends with the evening on which the plants are hardened on sun and air (a chart: with its last "
        f"row), and is given up after {LONGEST_DAYS} days.",
        "",
    ]
    for trial in trials:
        parts += [*_place(trial)]
    parts += ["## What the harm model assumes and can't know", "", *(f"- {one}" for one in ASSUMED), ""]
    return "\n".join(parts)


def _opening() -> str:
    return (
        "Past weather lived through day by day: each morning a forecast, the plan made from it, the day as it "
        "really was, and the next morning. Beside it what people do without a plan."
    )


def _place(trial: Trial) -> Iterator[str]:
    yield f"## {trial.place}"
    yield ""
    yield (
        f"{trial.weather}, at {trial.latitude:.2f}, {trial.longitude:.2f}. {trial.starts} first days from "
        f"{words.day(trial.first_start)} to {words.day(trial.last_start)}; seeds "
        f"{', '.join(str(seed) for seed in trial.seeds) or 'none'}. Forecasts that are off: {trial.forecasts}."
    )
    yield ""
    yield from (f"- {note}" for note in trial.notes)
    yield ""
    yield from _against_the_chart(trial.verdicts)
    for crop, carer in dict.fromkeys((line.crop, line.carer) for line in trial.lines):
        yield f"### {crop_name(crop)}, carer {carer}"
        yield ""
        mine = [line for line in trial.lines if (line.crop, line.carer) == (crop, carer)]
        heads = ("", "days (tenth-ninetieth)", *(HEADINGS[name] for name in MEASURES))
        costs = ("nights out", "moves", "minutes", "days held", "of them false alarm", "nights of false alarm")
        yield from _rows((*heads, *costs), [_cells(line) for line in mine])
        yield ""


def _cells(line: Line) -> tuple[str, ...]:
    harm = line.harm_mean.measures
    costs = (
        line.nights_mean,
        line.moves_mean,
        line.minutes_mean,
        line.held_mean,
        line.false_alarm_days_mean,
        line.false_alarm_nights_mean,
    )
    return (
        line_name(line),
        days_in_words(line),
        *(f"{harm[name]:.2f}" for name in MEASURES),
        *(f"{cost:.1f}" for cost in costs),
    )


def _against_the_chart(verdicts: Sequence[Verdict]) -> Iterator[str]:
    """One row a crop, carer and kind of forecast."""
    yield (
        "Against the chart by calendar: pairs of first day and seed in which no measure is above the chart's by "
        f"more than {tolerance_in_words()}; pairs in which the chart's measures add up to more than 10, and of "
        "them those in which the plan's add up to a quarter at most; and the median days against the chart with a "
        f"thermometer, over what that finishes within {LONGEST_DAYS} days."
    )
    yield ""
    heads = (
        "crop",
        "carer",
        "forecast",
        "no measure above",
        "which are",
        "a quarter at most",
        "days: plan",
        "chart",
    )
    yield from _rows(heads, [_verdict_cells(verdict) for verdict in verdicts])
    yield ""
    for verdict in verdicts:
        if verdict.unfinishable and not verdict.noisy:
            said = words.names([words.day(start) for start in verdict.unfinishable])
            yield (
                f"- {crop_name(verdict.crop)}, carer {verdict.carer}: no plan is through within {LONGEST_DAYS} "
                f"days, not even knowing the weather, from {said}. Left out of the days, not of the harm."
            )
    yield ""


def _verdict_cells(verdict: Verdict) -> tuple[str, ...]:
    above = [f"{HEADINGS[name]} {count}" for name, count in verdict.worse_by_measure.items() if count]
    quarter = f"{verdict.heavy_quartered} of {verdict.heavy}" if verdict.heavy else "-"
    return (
        crop_name(verdict.crop).lower(),
        verdict.carer,
        "off" if verdict.noisy else "true",
        f"{verdict.no_worse} of {verdict.pairs} ({verdict.no_worse / verdict.pairs:.1%})",
        ", ".join(above) or "-",
        quarter,
        _days(verdict.planner_median_both),
        _days(verdict.thermometer_median_both),
    )


def _days(value: float | None) -> str:
    return "-" if value is None else f"{value:g}"


def _rows(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A Markdown table."""
    return [f"| {' | '.join(cells)} |" for cells in (heads, ["---"] * len(heads), *rows)]
