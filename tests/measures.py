"""How far a value may be from what a source says, and how far it was: equal, near, or within a band."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

import numpy as np

NUMBER = r"(-?\d+(?:\.\d+)?)"
SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0}
HEADROOM = 1.05
"""Another machine or the next version of a library may come out a little worse before the page says otherwise."""
STEPS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
COARSE = (1.0, 2.0, 5.0, 10.0)
"""For cases that are drawn, and are others tomorrow."""


@dataclass
class Equal:
    """Nothing but the same will do."""

    seen: list[float] = field(default_factory=list)

    def take(self, found: Any, expected: Any) -> None:
        assert np.array_equal(found, expected) if isinstance(found, np.ndarray) else found == expected, (
            f"{found!r} is not {expected!r}"
        )
        self.seen.append(0.0)

    def result(self, _: Iterable[float], *, drawn: bool = False) -> str:
        """What the page says."""
        return "equal"

    def allowed(self, _: str) -> bool:
        return True


@dataclass
class Near:
    """A largest difference, in a unit or in % of what is expected."""

    most: float
    unit: str
    seen: list[float] = field(default_factory=list)

    def take(self, found: Any, expected: Any) -> None:
        off = np.asarray(self._off(found, expected))
        worst = np.unravel_index(off.argmax(), off.shape)  # a NaN, if there is one
        ours, theirs = (each[worst] for each in np.broadcast_arrays(found, expected))
        assert off[worst] <= self.most, f"{ours} is {off[worst]:g} {self.unit} off {theirs}"
        self.seen.append(float(off[worst]))

    def _off(self, found: Any, expected: Any) -> Any:
        apart = found - expected
        if isinstance(apart, timedelta):
            return abs(apart.total_seconds()) / SECONDS[self.unit]
        apart = np.abs(np.asarray(apart, dtype=float))
        if self.unit == "%":
            with np.errstate(divide="ignore", invalid="ignore"):  # nothing off nothing is right, off zero is wrong
                return np.where(apart == 0.0, 0.0, 100.0 * apart / np.abs(np.asarray(expected, dtype=float)))
        return apart

    def result(self, seen: Iterable[float], *, drawn: bool = False) -> str:
        """Rounded up to a round number with headroom, a hundredth of the tolerance at least, never beyond it."""
        steps, part = (COARSE, 0.1) if drawn else (STEPS, 0.01)
        least = max(HEADROOM * max(seen), self.most * part)
        scale = 10.0 ** math.floor(math.log10(least))
        rounded = next(step * scale for step in steps if step * scale >= least * (1.0 - 1e-9))
        return f"at most {_plain(min(rounded, self.most))} {self.unit}".strip()

    def allowed(self, result: str) -> bool:
        return max(self.seen) <= _numbers(result)[0] * (1.0 + 1e-9)


@dataclass
class Band:
    """A least and a most, either of which may be missing."""

    least: float
    most: float
    unit: str
    seen: list[float] = field(default_factory=list)

    def take(self, found: Any, expected: Any = None) -> None:
        assert expected is None, "a band has no expected value"
        if isinstance(found, timedelta):
            found = found.total_seconds() / SECONDS[self.unit]
        values = np.asarray(found, dtype=float)
        assert (values >= self.least).all(), f"{found} {self.unit} is below {self.least:g}"
        assert (values <= self.most).all(), f"{found} {self.unit} is above {self.most:g}"
        self.seen += [float(values.min()), float(values.max())]

    def result(self, seen: Iterable[float], *, drawn: bool = False) -> str:
        """Least and largest found, rounded outwards to two digits of the band, never beyond it."""
        values = [round(value, 9) + 0.0 for value in seen]  # no rounding noise, and no negative zero
        ends = [abs(end) for end in (self.least, self.most) if math.isfinite(end)]
        size = max(ends) or max(map(abs, values)) or 1.0
        step = 10.0 ** (math.floor(math.log10(size)) - 1)
        low = max(math.floor(min(values) / step + 1e-6) * step, self.least)
        high = min(math.ceil(max(values) / step - 1e-6) * step, self.most)
        alike = max(values) - min(values) < step / 10.0
        found = f"{values[0]:.3g}" if alike else f"{_plain(low)} to {_plain(high)}"
        return f"{found} {self.unit}".strip()

    def allowed(self, result: str) -> bool:
        said, slack = _numbers(result), (HEADROOM - 1.0) * max(map(abs, self.seen)) + 1e-9
        return said[0] - slack <= min(self.seen) and max(self.seen) <= said[-1] + slack


Measure = Equal | Near | Band


def measure(within: str) -> Measure:
    """The tolerance of a mark, ready to take values."""
    if within == "equal":
        return Equal()
    if found := re.fullmatch(rf"at least {NUMBER} ?(.*)", within):
        return Band(float(found[1]), math.inf, found[2])
    if found := re.fullmatch(rf"at most {NUMBER} ?(.*)", within):
        return Band(-math.inf, float(found[1]), found[2])
    if found := re.fullmatch(rf"{NUMBER} to {NUMBER} ?(.*)", within):
        return Band(float(found[1]), float(found[2]), found[3])
    found = re.fullmatch(rf"{NUMBER} ?(.*)", within)
    assert found, f"{within!r} is no tolerance"
    return Near(float(found[1]), found[2])


def _numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(NUMBER, text)]


def _plain(value: float) -> str:
    return np.format_float_positional(float(f"{value:.6g}"), trim="-")
