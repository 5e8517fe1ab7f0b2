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

import re
import sys
from collections.abc import Callable, Generator, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from measures import Measure, measure

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
    row = r"^\|.*\| ([^|]+) \((?:drawn|\d+)\) \| `(test_\w+)` \|$"
    return {name: found for found, name in re.findall(row, page.read_text("utf-8"), re.MULTILINE)}


@dataclass
class Check:
    """A marked test and all its cases."""

    module: str
    name: str
    said: dict[str, str]
    drawn: bool
    cases: int = 0
    seen: list[float] = field(default_factory=list)

    def result(self) -> str:
        """What its cases found together."""
        return measure(self.said["within"]).result(self.seen, drawn=self.drawn)

    def row(self, result: str) -> str:
        """Its line of the page."""
        said, cases = self.said, "drawn" if self.drawn else self.cases
        found = f"{result} ({cases})"
        cells = (said["compares"], said["source"], said["within"], said["because"], found, f"`{self.name}`")
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
    cases, drawn = sum(check.cases for check in checks if not check.drawn), sum(check.drawn for check in checks)
    lines = [
        f"{len(checks)} checks, {drawn} of them of cases that are drawn, the others of {cases} cases. Against"
    ]
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
        PAGE.write_text(written(checks, Check.result), "utf-8")
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
