"""The shape of the package, read from its source: the way of imports, what the core never does, what is loaded."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

import hardenoff

PACKAGE = Path(hardenoff.__file__).parent
MODULES = sorted(path.relative_to(PACKAGE) for path in PACKAGE.rglob("*.py"))

RANKS = {
    "errors": 0,
    "units": 1,
    "dates": 1,
    "lock": 1,
    "whole": 1,
    "records": 2,
    "tables": 3,
    "forecast": 4,
    "sun": 5,
    "night": 6,
    "ramp": 7,
    "schedule": 8,
    "journal": 8,
    "trial": 9,
    "garden": 10,
    "fetch": 10,
    "keep": 10,
    "views": 10,
    "demo": 10,
    "cli": 11,
    "__main__": 12,
}
"""A part imports only parts of a lower rank, and itself. `schemas` holds no code."""

SHELL = {"cli", "garden", "fetch", "keep", "lock", "whole", "__main__"}
"""Parts that may touch files, sockets and the terminal."""
SHELL_MODULES = {Path("journal/file.py")}
"""And the one module of a core part that does."""

HEAVY = ("pandas", "numpy", "scipy", "pvlib", "requests", "requests_cache", "pydantic", "tomlkit", "sqlite3")
LIGHT_PARTS = [
    "hardenoff",
    "hardenoff.cli",
    "hardenoff.records",
    "hardenoff.schedule.records",
    "hardenoff.tables",
    "hardenoff.garden",
    "hardenoff.journal.file",
    "hardenoff.fetch",
    "hardenoff.forecast",
    *(f"hardenoff.views.{path.stem}" for path in sorted((PACKAGE / "views").glob("[a-z]*.py"))),
]


def part_of(module: Path) -> str:
    """The first name below the package."""
    return module.parts[0].removesuffix(".py")


def tree(module: Path) -> ast.Module:
    return ast.parse((PACKAGE / module).read_text("utf-8"))


def imported_parts(module: Path) -> Iterator[tuple[int, str]]:
    """Line and part of each import from this package, those for type checking among them."""
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.ImportFrom) and node.module is not None:
            assert node.level == 0, f"{module}: relative import"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            continue
        for name in names:
            path = name.split(".")
            if path[0] == "hardenoff" and len(path) > 1 and path[1] != "__version__":
                yield node.lineno, path[1]


def test_every_part_has_its_place() -> None:
    """A new part is ranked before it is used."""
    parts = {part_of(module) for module in MODULES} - {"__init__"}
    assert parts <= set(RANKS)


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_imports_go_one_way(module: Path) -> None:
    """cli -> garden, fetch, views, demo -> schedule -> ramp -> night -> sun -> forecast -> tables -> records."""
    part = part_of(module)
    if part == "__init__":
        assert not list(imported_parts(module))
        return
    wrong = [
        f"line {line}: {part} imports {other}"
        for line, other in imported_parts(module)
        if other != part and RANKS[other] >= RANKS[part]
    ]
    assert wrong == []


# --- what the core never does ----------------------------------------------------------------------

CLOCKS = {
    ("datetime", "now"),
    ("datetime", "utcnow"),
    ("datetime", "today"),
    ("date", "today"),
    ("time", "time"),
    ("time", "monotonic"),
    ("time", "perf_counter"),
    ("Timestamp", "now"),
    ("Timestamp", "today"),
    ("Timestamp", "utcnow"),
}
DOORS = {"print", "open", "input"}
"""Built-ins that talk to the outside."""
SOCKETS = {"socket", "requests", "requests_cache", "urllib3", "http", "smtplib", "subprocess", "urllib.request"}


def calls(module: Path) -> Iterator[tuple[int, str, str]]:
    """Line, owner and name of each call; the owner of a plain call is empty."""
    for node in ast.walk(tree(module)):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Name):
            yield node.lineno, "", node.func.id
        elif isinstance(node.func, ast.Attribute):
            owner = node.func.value
            name = (
                owner.id if isinstance(owner, ast.Name) else owner.attr if isinstance(owner, ast.Attribute) else ""
            )
            yield node.lineno, name, node.func.attr


CORE = [module for module in MODULES if part_of(module) not in SHELL and module not in SHELL_MODULES]


@pytest.mark.parametrize("module", CORE, ids=str)
def test_the_core_has_no_clock(module: Path) -> None:
    """`now` is an argument."""
    assert [(line, owner, name) for line, owner, name in calls(module) if (owner, name) in CLOCKS] == []


@pytest.mark.parametrize("module", CORE, ids=str)
def test_the_core_neither_prints_nor_opens_files(module: Path) -> None:
    """Package tables come through importlib.resources."""
    outside = (
        {"write_text", "write_bytes", "read_bytes", "unlink", "mkdir"} if part_of(module) != "demo" else set()
    )
    found = [
        (line, name) for line, owner, name in calls(module) if (not owner and name in DOORS) or name in outside
    ]
    assert found == []


@pytest.mark.parametrize("module", [m for m in MODULES if part_of(m) != "fetch"], ids=str)
def test_only_fetch_has_sockets(module: Path) -> None:
    """No other part imports a network library, not even inside a function."""
    names = [
        alias.name if isinstance(node, ast.Import) else node.module or ""
        for node in ast.walk(tree(module))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    ]
    assert [name for name in names if name in SOCKETS or name.split(".")[0] in SOCKETS - {"urllib.request"}] == []


CLOCK_FREE_SHELL = [module for module in MODULES if part_of(module) in ("garden", "keep", "journal")]


@pytest.mark.parametrize("module", CLOCK_FREE_SHELL, ids=str)
def test_files_are_read_without_a_clock(module: Path) -> None:
    """The same file gives the same garden, and the same kept run, on any day."""
    assert [(line, owner, name) for line, owner, name in calls(module) if (owner, name) in CLOCKS] == []


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_every_module_says_what_it_is_for(module: Path) -> None:
    """In the first line of its docstring."""
    text = ast.get_docstring(tree(module))
    assert text is not None
    assert text.splitlines()[0].strip()


# --- what is loaded when ---------------------------------------------------------------------------


def python(*arguments: str) -> subprocess.CompletedProcess[str]:
    """A fresh interpreter."""
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=True, env=environment, timeout=60
    )


def test_help_loads_nothing_heavy() -> None:
    """`-X importtime` lists every module that `--help` loads."""
    loaded = {
        line.rsplit("|", 1)[-1].strip()
        for line in python("-X", "importtime", "-m", "hardenoff", "--help").stderr.splitlines()
    }
    assert "typer" in loaded
    assert {name for name in loaded if name.split(".")[0] in HEAVY} == set()


def test_light_parts_stay_light() -> None:
    """A kept schedule can be shown, and the tables read, without pandas or pvlib."""
    code = f"import sys, {', '.join(LIGHT_PARTS)}; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    assert python("-c", code).stdout.strip() == ""


def test_help_is_quick() -> None:
    """At most 0.8 of what importing pandas takes on the same machine: 0.25 s where that is 0.31 s."""

    def best_of(*arguments: str) -> float:
        times = []
        for _ in range(3):
            start = time.perf_counter()
            python(*arguments)
            times.append(time.perf_counter() - start)
        return min(times)

    assert best_of("-m", "hardenoff", "--help") <= 0.8 * best_of("-c", "import pandas")
