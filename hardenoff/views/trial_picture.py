"""A trial as a picture: one SVG, no other file, readable in the light, in the dark, in grey and on paper.

A row a player; a column for the days until hardened (dot: median, bar: from the tenth to the ninetieth hundredth)
and one a measure of harm, whose bars share one scale down the whole picture. Every bar has its number beside it,
so that nothing hangs on colour or on guessing lengths.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from hardenoff.trial.records import LONGEST_DAYS, MEASURES, Line, Trial
from hardenoff.views.trial import HEADINGS, crop_name, line_name

UNITS = {"check_degree_h": "°C h", "leaf_degree_h": "°C h", "day_degree_h": "°C h", "sun_h": "h", "gust_h": "h"}
WIDTH, NAMES_W, DAYS_W, BAR_W, GAP = 960, 170, 190, 62, 46
ROW, HEAD, FOOT = 22, 56, 30
TITLE = "Days until hardened, and what the plants met, player by player"
STYLE = """
  svg { color: #1b1f1d; background: #ffffff; font: 13px system-ui, sans-serif; }
  .quiet { fill: currentColor; opacity: .62; } .ink { fill: currentColor; } text { fill: currentColor; }
  .plan { fill: #0b6e4f; } .other { fill: #7a7f87; } .rule { stroke: currentColor; opacity: .22; }
  .title { font-size: 16px; font-weight: 650; } .group { font-weight: 650; } .small { font-size: 11px; }
  @media screen and (prefers-color-scheme: dark) {
    svg { color: #e8ebe9; background: #14171a; } .plan { fill: #4fc79a; } .other { fill: #949ba5; }
  }
  @media print { svg { color: #000; background: none; } .plan { fill: #000; } .other { fill: #999; } }
"""


def svg(trials: Sequence[Trial]) -> str:
    """The whole picture."""
    most = {
        name: max((line.harm_mean.measures[name] for trial in trials for line in trial.lines), default=0.0)
        for name in MEASURES
    }
    body, y = list[str](), 16.0
    for trial in trials:
        drawn, y = _place(trial, most, y)
        body += drawn
    height = y + FOOT
    legend = "Bars of one column share one scale. Dot: median; bar through it: eight runs of ten."
    body.append(_text(12, height - 12, legend, "small quiet"))
    frame = f'viewBox="0 0 {WIDTH} {height:.0f}" width="{WIDTH}" height="{height:.0f}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {frame} role="img" aria-labelledby="t">'
    return "\n".join([head, f'<title id="t">{TITLE}</title>', f"<style>{STYLE}</style>", *body, "</svg>", ""])


def _place(trial: Trial, most: dict[str, float], y: float) -> tuple[list[str], float]:
    body = [_text(12, y + 12, f"{trial.place}: {trial.starts} first days, {len(trial.seeds)} seeds", "title")]
    y += 28.0
    for crop, carer in dict.fromkeys((line.crop, line.carer) for line in trial.lines):
        mine = [line for line in trial.lines if (line.crop, line.carer) == (crop, carer)]
        body += _heads(f"{crop_name(crop)}, carer {carer}", y)
        y += HEAD
        for line in mine:
            body += _row(line, most, y)
            y += ROW
        y += 14.0
    return body, y


def _column(place: int) -> float:
    """Left edge of a column: 0 the days, then the measures."""
    return 12.0 + NAMES_W + (0.0 if place == 0 else DAYS_W + GAP + (place - 1) * (BAR_W + GAP))


def _heads(group: str, y: float) -> Iterator[str]:
    yield _text(12, y + 20, group, "group")
    yield _text(_column(0), y + 20, "days until hardened", "small")
    for mark in range(0, LONGEST_DAYS + 1, 20):
        x = _column(0) + DAYS_W * mark / LONGEST_DAYS
        yield _text(x, y + 40, f"{mark}", "small quiet", anchor="middle")
    for place, name in enumerate(MEASURES, start=1):
        yield _text(_column(place), y + 20, HEADINGS[name], "small")
        yield _text(_column(place), y + 34, UNITS[name], "small quiet")
    yield f'<line class="rule" x1="12" x2="{WIDTH - 12}" y1="{y + 47:.1f}" y2="{y + 47:.1f}"/>'


def _row(line: Line, most: dict[str, float], y: float) -> Iterator[str]:
    kind = "plan" if line.player in ("planner", "foresight") else "other"
    yield _text(12, y + 11, line_name(line), "")
    yield from _days(line, kind, y)
    for place, name in enumerate(MEASURES, start=1):
        value = line.harm_mean.measures[name]
        width = 0.0 if most[name] <= 0.0 else BAR_W * value / most[name]
        yield f'<rect class="{kind}" x="{_column(place):.1f}" y="{y + 1:.1f}" width="{width:.1f}" height="12"/>'
        yield _text(_column(place) + width + 4, y + 11, f"{value:.1f}" if value >= 0.05 else "0", "small")


def _days(line: Line, kind: str, y: float) -> Iterator[str]:
    left = _column(0)
    if line.days_median is None:
        yield _text(left + DAYS_W, y + 11, f"most over {LONGEST_DAYS}", "small", anchor="end")
        return

    def at(days: float | None) -> float:
        return left + DAYS_W * (LONGEST_DAYS if days is None else days) / LONGEST_DAYS

    first, last = at(line.days_tenth), at(line.days_ninetieth)
    bar = f'x="{first:.1f}" y="{y + 5:.1f}" width="{last - first:.1f}" height="4"'
    yield f'<rect class="{kind}" opacity=".45" {bar}/>'
    yield f'<circle class="{kind}" cx="{at(line.days_median):.1f}" cy="{y + 7:.1f}" r="5"/>'
    yield _text(last + 9, y + 11, f"{line.days_median:g}", "small")


def _text(x: float, y: float, words: str, kind: str, anchor: str = "start") -> str:
    style = f' class="{kind}"' if kind else ""
    return f'<text{style} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'
