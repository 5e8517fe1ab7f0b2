"""Checks against something outside the project: how a test says so, and the page that is written from them.

    @outside("US Naval Observatory, rise and set tables", "sunrise and sunset", within="32 s",
             because="printed to the minute: half a minute, and two seconds")
    def test_almanac_table(...) -> None:
        compare(found, printed)

`compare` fails beyond the tolerance and keeps the largest difference. `python tests/validation.py` runs these
tests and writes tests/VALIDATION.md: words and tolerances from the marks, results from the run. From then on a
test fails that measures more than its page says, and `tests/test_validation.py` fails where the words differ.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Callable, Generator, Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

PAGE = Path(__file__).with_name("VALIDATION.md")

KINDS = {
    "published": "a publication: its worked examples, tables and formulas",
    "library": "somebody else's program",
    "anew": "the same computed anew in the test by other means",
    "measured": "what was measured",
    "practice": "what growers commonly do, without a source",
}

# --- what a test says ------------------------------------------------------------------------------


def outside(
    source: str, compares: str, *, within: str, because: str, kind: str = "published"
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Mark a test as a check against something outside.

    Parameters
    ----------
    source : str
        Author, year and title, or program and model; 'from memory' where the numbers were not read again.
    compares : str
        What of ours is held against it.
    within : str
        "0.5 deg" or "3 %" (of what is expected), "equal", or a band: "1 to 3 C", "at least 0.95", "at most 4 C".
    because : str
        Why this much and no less.
    kind : str
        One of KINDS.
    """
    assert kind in KINDS, kind
    measure(within)
    said = {"source": source, "compares": compares, "within": within, "because": because, "kind": kind}
    assert all(said.values()), said
    return pytest.mark.outside(**said)


def compare(found: Any, expected: Any = None) -> None:
    """Hold a value, or an array of them, against what the source says; a band needs no second argument."""
    assert _running, "compare() needs a test marked @outside"
    _running[-1].take(found, expected)


# --- measures ----------------------------------------------------------------------------------------

NUMBER = r"(-?\d+(?:\.\d+)?)"
SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0}
HEADROOM = 1.05
"""Another machine or the next version of a library may come out a little worse before the page says otherwise."""
STEPS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


@dataclass
class Equal:
    """Nothing but the same will do."""

    seen: list[float] = field(default_factory=list)

    def take(self, found: Any, expected: Any) -> None:
        assert np.array_equal(found, expected) if isinstance(found, np.ndarray) else found == expected, (
            f"{found!r} is not {expected!r}"
        )
        self.seen.append(0.0)

    def result(self, _: Iterable[float]) -> str:
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
        off = np.ravel(self._off(found, expected))
        worst = int(off.argmax())  # a NaN, if there is one
        pair = (
            (found, expected) if len(off) == 1 else [a.flat[worst] for a in np.broadcast_arrays(found, expected)]
        )
        assert off[worst] <= self.most, f"{pair[0]} is {off[worst]:g} {self.unit} off {pair[1]}"
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

    def result(self, seen: Iterable[float]) -> str:
        """Rounded up to a round number with headroom, a hundredth of the tolerance at least, never beyond it."""
        least = max(HEADROOM * max(seen), self.most / 100.0)
        scale = 10.0 ** math.floor(math.log10(least))
        rounded = next(step * scale for step in STEPS if step * scale >= least * (1.0 - 1e-9))
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

    def result(self, seen: Iterable[float]) -> str:
        """Least and largest found, rounded outwards to two digits of the band, never beyond it."""
        values = list(seen)
        ends = [end for end in (self.least, self.most) if math.isfinite(end)]
        step = 10.0 ** (math.floor(math.log10(max(abs(end) for end in ends))) - 1)
        low = max(math.floor(min(values) / step + 1e-6) * step, self.least)
        high = min(math.ceil(max(values) / step - 1e-6) * step, self.most)
        both = (_plain(low),) if math.isclose(low, high) else (_plain(low), _plain(high))
        return f"{' to '.join(both)} {self.unit}".strip()

    def allowed(self, result: str) -> bool:
        said, slack = _numbers(result), 1e-4 * max(map(abs, self.seen))
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


# --- while tests run ---------------------------------------------------------------------------------

_running: list[Measure] = []
_writing = False


def pytest_configure(config: pytest.Config) -> None:
    """So that --strict-markers knows it."""
    config.addinivalue_line("markers", "outside: a check against something outside the project; see validation.py")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, object, object]:
    """Measure while a marked test runs; then hold the result to the page."""
    mark = item.get_closest_marker("outside")
    if mark is None:
        return (yield)
    measuring = measure(mark.kwargs["within"])
    _running.append(measuring)
    try:
        done = yield
    finally:
        _running.pop()
    assert isinstance(item, pytest.Function)
    assert measuring.seen, f"{item.originalname} is marked @outside, and compared nothing"
    item.user_properties.append(("outside", measuring.seen))
    if not _writing and not is_drawn(item):
        hold_to_page(item.originalname, measuring)
    return done


def hold_to_page(name: str, measuring: Measure) -> None:
    """Fail where a case measured more than the page says."""
    said = results(PAGE).get(name)
    assert said is None or measuring.allowed(said), (
        f"{name} measured {min(measuring.seen):g} to {max(measuring.seen):g} where VALIDATION.md says {said!r}: "
        "if that is meant, run `python tests/validation.py`"
    )


def is_drawn(item: pytest.Function) -> bool:
    """Whether hypothesis draws the cases: other versions of it draw others."""
    from hypothesis import is_hypothesis_test  # pytest wants to be there before it

    return is_hypothesis_test(item.obj)


# --- the page ----------------------------------------------------------------------------------------


def results(page: Path) -> dict[str, str]:
    """What the page says was found, by test."""
    rows = re.findall(r"^\|.*\| (.+?) \| `(test_\w+)` \|$", page.read_text("utf-8"), re.MULTILINE)
    return {name: found for found, name in rows}


@dataclass
class Check:
    """A marked test and all its cases."""

    module: str
    name: str
    said: dict[str, str]
    drawn: bool
    cases: int = 0
    seen: list[float] = field(default_factory=list)

    def row(self, result: str) -> str:
        said = self.said
        cells = (said["compares"], said["source"], said["within"], said["because"], result, f"`{self.name}`")
        return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


class Ledger:
    """A plugin that gathers the marked tests, and what they measure."""

    def __init__(self) -> None:
        self.checks: dict[str, Check] = {}

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        """Every marked test and the number of its cases."""
        for item in session.items:
            mark = item.get_closest_marker("outside")
            if mark is not None:
                assert isinstance(item, pytest.Function)
                new = Check(item.path.stem, item.originalname, mark.kwargs, is_drawn(item))
                check = self.checks.setdefault(item.originalname, new)
                assert check.module == item.path.stem, f"two checks are called {item.originalname}"
                check.cases += 1

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """What a case measured."""
        name = report.nodeid.split("::")[-1].split("[")[0]
        for key, seen in report.user_properties:
            if key == "outside" and report.when == "call":
                self.checks[name].seen += seen  # type: ignore[arg-type]


def written(checks: Iterable[Check], found: Callable[[Check], str]) -> str:
    """The page."""
    from validation_words import HEAD, SUBJECTS, closing

    by_module: dict[str, list[Check]] = {}
    for check in checks:
        by_module.setdefault(check.module, []).append(check)
    strays = by_module.keys() - {module for modules in SUBJECTS.values() for module in modules}
    assert not strays, f"in no subject of validation_words.py: {sorted(strays)}"
    lines = [HEAD, *_counts(by_module)]
    for subject, modules in SUBJECTS.items():
        lines += ["", f"## {subject}", "", TITLES, RULE]
        lines += [check.row(found(check)) for module in modules for check in by_module.get(module, [])]
    return "\n".join([*lines, "", closing(), ""])


TITLES = "| what of ours | against | within | why so much | found | test |"
RULE = "|---|---|---|---|---|---|"


def _counts(by_module: dict[str, list[Check]]) -> list[str]:
    checks = [check for found in by_module.values() for check in found]
    cases = sum(check.cases for check in checks if not check.drawn)
    drawn = sum(check.drawn for check in checks)
    lines = [f"{len(checks)} checks: {cases} cases, and {drawn} checks whose cases are drawn. Against"]
    kinds = [(sum(check.said["kind"] == kind for check in checks), what) for kind, what in KINDS.items()]
    lines += ["", *(f"- {what}: {number}" for number, what in kinds if number)]
    return lines


def main(arguments: list[str]) -> int:
    """Write the page; with --check only say whether its words are those of the tests."""
    global _writing
    check_only, _writing = arguments == ["--check"], True
    ledger = Ledger()
    options = ["-q", "-m", "outside", "-p", "no:cacheprovider", "-p", "no:xdist", str(PAGE.parent)]
    code = pytest.main([*options, *(["--collect-only", "-qq"] if check_only else [])], plugins=[ledger])
    if code != pytest.ExitCode.OK:
        return int(code)
    checks = ledger.checks.values()
    if not check_only:
        PAGE.write_text(written(checks, lambda check: measure(check.said["within"]).result(check.seen)), "utf-8")
        sys.stderr.write(f"wrote {PAGE.name}\n")
        return 0
    said = results(PAGE)
    if written(checks, lambda check: said.get(check.name, "?")) == PAGE.read_text("utf-8"):
        return 0
    sys.stderr.write(f"{PAGE.name} is not what the tests say: run `python tests/validation.py`\n")
    return 1


if __name__ == "__main__":
    import validation  # the same module that conftest.py and the tests know, not this copy of it

    sys.exit(validation.main(sys.argv[1:]))
