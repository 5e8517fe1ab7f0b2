"""A trial as a JSON document for programs."""

from __future__ import annotations

from collections.abc import Sequence

from hardenoff.trial.records import Costs, Harm, Line, RunResult, Trial, Verdict
from hardenoff.views import json_parts as part
from hardenoff.views.json_parts import Document


def trials(played: Sequence[Trial]) -> Document:
    """`hardenoff.trial/1`: every place, its lines, the comparison with the chart, and every run."""
    return {"schema": "hardenoff.trial/1", "trials": [_trial(one) for one in played]}


def _trial(trial: Trial) -> Document:
    return {
        "place": trial.place,
        "latitude": part.number(trial.latitude),
        "longitude": part.number(trial.longitude),
        "timezone": trial.timezone,
        "weather": trial.weather,
        "notes": list(trial.notes),
        "first_start": part.calendar_date(trial.first_start),
        "last_start": part.calendar_date(trial.last_start),
        "starts": trial.starts,
        "seeds": list(trial.seeds),
        "forecasts": trial.forecasts,
        "lines": [_line(line) for line in trial.lines],
        "verdicts": [_verdict(verdict) for verdict in trial.verdicts],
        "runs": [_run(run) for run in trial.runs],
    }


def _harm(harm: Harm) -> Document:
    return {
        **{name: part.number(value) for name, value in harm.measures.items()},
        "unknown_h": part.number(harm.unknown_h),
    }


def _costs(costs: Costs) -> Document:
    return {
        "nights_out": costs.nights_out,
        "moves": costs.moves,
        "minutes": part.number(costs.minutes),
        "days_held": costs.days_held,
        "false_alarm_days": costs.false_alarm_days,
        "nights_held": costs.nights_held,
        "false_alarm_nights": costs.false_alarm_nights,
    }


def _line(line: Line) -> Document:
    return {
        "player": line.player,
        "crop": line.crop,
        "carer": line.carer,
        "noisy": line.noisy,
        "runs": line.runs,
        "finished": line.finished,
        "days": {
            "tenth": part.number(line.days_tenth),
            "median": part.number(line.days_median),
            "ninetieth": part.number(line.days_ninetieth),
        },
        "harm_mean": _harm(line.harm_mean),
        "costs_mean": {
            "nights_out": part.number(line.nights_mean),
            "moves": part.number(line.moves_mean),
            "minutes": part.number(line.minutes_mean),
            "days_held": part.number(line.held_mean),
            "false_alarm_days": part.number(line.false_alarm_days_mean),
            "false_alarm_nights": part.number(line.false_alarm_nights_mean),
        },
    }


def _verdict(verdict: Verdict) -> Document:
    return {
        "crop": verdict.crop,
        "carer": verdict.carer,
        "noisy": verdict.noisy,
        "pairs": verdict.pairs,
        "no_worse": verdict.no_worse,
        "worse_by_measure": dict(verdict.worse_by_measure),
        "heavy": verdict.heavy,
        "heavy_quartered": verdict.heavy_quartered,
        "heavy_measures": verdict.heavy_measures,
        "heavy_measures_quartered": verdict.heavy_measures_quartered,
        "worse": [
            {
                "start": part.calendar_date(start),
                "seed": seed,
                "measure": name,
                "planner": part.number(mine),
                "chart": part.number(charts),
            }
            for start, seed, name, mine, charts in verdict.worst
        ],
        "unfinishable": [part.calendar_date(start) for start in verdict.unfinishable],
        "planner_median": part.number(verdict.planner_median),
        "thermometer_median": part.number(verdict.thermometer_median),
        "planner_median_both": part.number(verdict.planner_median_both),
        "thermometer_median_both": part.number(verdict.thermometer_median_both),
    }


def _run(run: RunResult) -> Document:
    return {
        "player": run.player,
        "crop": run.crop,
        "carer": run.carer,
        "start": part.calendar_date(run.start),
        "seed": run.seed,
        "days": run.days,
        "harm": _harm(run.harm),
        "costs": _costs(run.costs),
    }
