"""Runs put side by side: medians, means, and whether the planner was ever worse than the chart."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from statistics import fmean, median, quantiles

from hardenoff.trial.records import MEASURES, PLAYERS, TOLERANCE, Harm, Line, RunResult, Verdict

HEAVY = 10.0
QUARTERED = 0.25

Key = tuple[str, str]
"""Crop and carer."""


def lines(runs: Sequence[RunResult]) -> tuple[Line, ...]:
    """One line a player, crop, carer and kind of forecast."""
    unfinishable = _unfinishable(runs)
    found = []
    for key in _keys(runs):
        for player in PLAYERS:
            for noisy in (False, True):
                mine = [run for run in _of(runs, key) if run.player == player and (run.seed is not None) == noisy]
                if mine:
                    found.append(_line(mine, noisy, unfinishable[key]))
    return tuple(found)


def _line(runs: list[RunResult], noisy: bool, unfinishable: frozenset[date]) -> Line:
    one = runs[0]
    counted = [run for run in runs if run.start not in unfinishable]
    tenth, middle, ninetieth = _spread([_days(run) for run in counted])
    return Line(
        player=one.player,
        crop=one.crop,
        carer=one.carer,
        noisy=noisy,
        runs=len(runs),
        finished=sum(run.days is not None for run in runs),
        days_median=middle,
        days_tenth=tenth,
        days_ninetieth=ninetieth,
        harm_mean=_mean_harm(runs),
        nights_mean=fmean(run.costs.nights_out for run in runs),
        moves_mean=fmean(run.costs.moves for run in runs),
        minutes_mean=fmean(run.costs.minutes for run in runs),
        held_mean=fmean(run.costs.days_held for run in runs),
        false_alarm_days_mean=fmean(run.costs.false_alarm_days for run in runs),
        false_alarm_nights_mean=fmean(run.costs.false_alarm_nights for run in runs),
    )


def verdicts(runs: Sequence[RunResult]) -> tuple[Verdict, ...]:
    """The planner against the charts, by crop, carer and kind of forecast."""
    unfinishable = _unfinishable(runs)
    return tuple(
        _verdict(_of(runs, key), key, noisy, unfinishable[key])
        for key in _keys(runs)
        for noisy in (False, True)
        if any(run.player == "planner" and (run.seed is not None) == noisy for run in _of(runs, key))
    )


def _verdict(runs: list[RunResult], key: Key, noisy: bool, unfinishable: frozenset[date]) -> Verdict:
    chart = {run.start: run for run in runs if run.player == "chart"}
    ours = [run for run in runs if run.player == "planner" and (run.seed is not None) == noisy]
    seen = {(run.start, run.seed): run for run in runs if run.player == "thermometer"}
    above = {(run.start, run.seed): worse(run.harm, chart[run.start].harm) for run in ours}
    heavy = [run for run in ours if chart[run.start].harm.total > HEAVY]
    single = [
        (getattr(run.harm, name), getattr(chart[run.start].harm, name))
        for run in ours
        for name in MEASURES
        if getattr(chart[run.start].harm, name) > HEAVY
    ]
    counted = [run for run in ours if run.start not in unfinishable]
    both = [run for run in counted if seen[run.start, run.seed].days is not None]
    return Verdict(
        crop=key[0],
        carer=key[1],
        noisy=noisy,
        pairs=len(ours),
        no_worse=sum(not names for names in above.values()),
        worse_by_measure={name: sum(name in names for names in above.values()) for name in MEASURES},
        heavy=len(heavy),
        heavy_quartered=sum(run.harm.total <= QUARTERED * chart[run.start].harm.total for run in heavy),
        heavy_measures=len(single),
        heavy_measures_quartered=sum(mine <= QUARTERED * charts for mine, charts in single),
        worst=tuple(
            (run.start, run.seed, name, getattr(run.harm, name), getattr(chart[run.start].harm, name))
            for run in ours
            for name in above[run.start, run.seed]
        ),
        unfinishable=tuple(sorted(unfinishable)),
        planner_median=_spread([_days(run) for run in counted])[1],
        thermometer_median=_spread([_days(seen[run.start, run.seed]) for run in counted])[1],
        planner_median_both=_spread([_days(run) for run in both])[1],
        thermometer_median_both=_spread([_days(seen[run.start, run.seed]) for run in both])[1],
    )


def worse(mine: Harm, charts: Harm) -> tuple[str, ...]:
    """The measures that are above the chart's by more than their tolerance."""
    return tuple(name for name in MEASURES if getattr(mine, name) > getattr(charts, name) + TOLERANCE[name])


def _keys(runs: Iterable[RunResult]) -> list[Key]:
    return list(dict.fromkeys((run.crop, run.carer) for run in runs))


def _of(runs: Iterable[RunResult], key: Key) -> list[RunResult]:
    return [run for run in runs if (run.crop, run.carer) == key]


def _unfinishable(runs: Sequence[RunResult]) -> dict[Key, frozenset[date]]:
    """Starts that not even who knows the weather gets through in time."""
    found: dict[Key, set[date]] = defaultdict(set)
    for run in runs:
        if run.player == "foresight" and run.days is None:
            found[run.crop, run.carer].add(run.start)
    return {key: frozenset(found[key]) for key in _keys(runs)}


def _days(run: RunResult) -> float:
    return math.inf if run.days is None else float(run.days)


def _spread(days: list[float]) -> tuple[float | None, float | None, float | None]:
    """Tenth, middle and ninetieth hundredth; None where it lies among runs that were not through."""
    if not days:
        return None, None, None
    tenths = quantiles(days, n=10, method="inclusive") if len(days) > 1 else [days[0]] * 9
    return tuple(value if math.isfinite(value) else None for value in (tenths[0], median(days), tenths[8]))  # type: ignore[return-value]


def _mean_harm(runs: Sequence[RunResult]) -> Harm:
    total = Harm()
    for run in runs:
        total = total.plus(run.harm)
    return Harm(
        **{name: value / len(runs) for name, value in {**total.measures, "unknown_h": total.unknown_h}.items()}
    )
