"""The documents say what is so: commands, examples, numbers and file names in them are held against the program.

The blocks of README.md that are marked `kept by tests/test_docs.py` are written by this file; after a change of
what they show, `python tests/test_docs.py` writes them anew. Look at what changed before you commit it.
"""

from __future__ import annotations

import ast
import csv
import re
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path

import pytest
from typer.testing import CliRunner

from hardenoff.cli.app import COMMANDS, EXIT_CODES, app
from hardenoff.cli.options import OPTIONS
from hardenoff.errors import Exit
from hardenoff.garden import garden_from_text
from hardenoff.garden.asked import keys
from hardenoff.garden.schema import TABLES, RootTable
from hardenoff.records import Crop
from hardenoff.tables import load_crops, load_rules
from hardenoff.tables.rows import MARKS
from hardenoff.units import from_si

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
GATE = ROOT / ".ci" / "run"
PACKAGE = ROOT / "hardenoff"

BASE = """
[place]
latitude = 39.1
longitude = -84.51
timezone = "America/New_York"
"""
BATCH = '[[batch]]\nname = "peppers"\ncrop = "sweet pepper"\n'


# --- blocks that are written here --------------------------------------------------------------------


def demo_block() -> str:
    """The demo's morning check, 80 columns wide."""
    result = CliRunner(env={"COLUMNS": "80"}).invoke(app, ["demo"])
    assert result.exit_code == Exit.DONE, result.stderr
    return f"```text\n{result.stdout}```\n"


def rules_block() -> str:
    """Our two default rules, a ramp-day in a column."""
    return "\n".join(_rule_table(key, who) for key, who in (("twelve_days", "tender"), ("seven_days", "hardy")))


def _rule_table(key: str, who: str) -> str:
    rows = load_rules()[key].rows
    lines = [
        [f"{who} crops, `{key}`: ramp-day", *(str(day) for day in range(1, len(rows) + 1))],
        ["---"] * (len(rows) + 1),
        [
            "most hours outside",
            *("all day" if row.outdoor_hours == 24 else _plain(row.outdoor_hours) for row in rows),
        ],
        ["most direct sun, hours", *(_plain(row.direct_sun_hours) for row in rows)],
        ["most gust at the plants, m/s", *(_plain(row.gust_m_s) for row in rows)],
        ["nights out", *("yes" if row.nights_out else "-" for row in rows)],
    ]
    return "".join(_table_row(line) for line in lines)


def nights_block() -> str:
    """Crops with the same night limits, in the table's order."""

    def limits(crop: Crop) -> tuple[float, ...]:
        return (
            crop.check_below_tender_c,
            crop.check_below_hardened_c,
            crop.harm_below_tender_c,
            crop.harm_below_hardened_c,
        )

    alike: dict[tuple[float, ...], list[str]] = {}
    for crop in load_crops().values():
        alike.setdefault(limits(crop), []).append(crop.name)
    lines = [["crops", "check", "harm"], ["---"] * 3]
    lines += [
        [", ".join(names), _from_to(check, check_hard), _from_to(harm, harm_hard)]
        for (check, check_hard, harm, harm_hard), names in alike.items()
    ]
    return "".join(_table_row(line) for line in lines)


def _from_to(tender_c: float, hardened_c: float) -> str:
    """`10 → 7 C (50 → 45 F)`."""
    both = (tender_c,) if tender_c == hardened_c else (tender_c, hardened_c)
    celsius = " → ".join(f"{value:.0f}" for value in both)
    fahrenheit = " → ".join(f"{from_si(value, 'temperature', 'F'):.0f}" for value in both)
    return f"{celsius} C ({fahrenheit} F)"


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _table_row(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |\n"


KEPT: dict[str, Callable[[], str]] = {"demo": demo_block, "rules": rules_block, "nights": nights_block}


def kept(name: str, text: str) -> str:
    """What stands in the document between the marks of a block."""
    begin, end = marks(name)
    assert text.count(begin) == text.count(end) == 1, f"README.md lost the marks of {name}"
    return text.split(begin)[1].split(end)[0]


def marks(name: str) -> tuple[str, str]:
    return f"<!-- {name}: kept by tests/test_docs.py -->\n", f"<!-- end of {name} -->\n"


def rewritten(text: str) -> str:
    """The document with every kept block as it should be."""
    for name, block in KEPT.items():
        begin, end = marks(name)
        text = text.replace(f"{begin}{kept(name, text)}{end}", f"{begin}{block()}{end}")
    return text


@pytest.mark.parametrize("name", KEPT)
def test_a_kept_block_is_what_the_program_says(name: str) -> None:
    """Otherwise run `python tests/test_docs.py` and look at what changed."""
    assert kept(name, README.read_text("utf-8")) == KEPT[name]()


# --- the two set-up lines and the gate ---------------------------------------------------------------


def shell_lines(text: str) -> list[str]:
    """Every line of the document's sh blocks."""
    return [line for block in fenced(text, "sh") for line in block.splitlines()]


def fenced(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def set_up_lines() -> list[str]:
    return [line for line in shell_lines(README.read_text("utf-8")) if "venv" in line and "&&" in line]


def test_the_readme_has_two_set_up_lines() -> None:
    """Each does everything from a fresh clone: the first shows the demo, the second passes the tests."""
    first, second = set_up_lines()
    assert first == "python3 -m venv .venv && .venv/bin/pip install -q . && .venv/bin/hardenoff demo"
    assert second == "python3 -m venv .venv && .venv/bin/pip install -q -e '.[dev]' && .venv/bin/pytest -n auto"


def test_the_gate_runs_the_readme_s_own_test_line() -> None:
    """Taken out of README.md, as here, and run last, so that the tests' own summary ends the output."""
    gate = GATE.read_text("utf-8")
    taking = next(line for line in gate.splitlines() if line.startswith("test_command="))
    taken = subprocess.run(
        ["bash", "-c", f'{taking}; printf %s "$test_command"'],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert taken.stdout == set_up_lines()[1]
    assert gate.rstrip().splitlines()[-1] == 'bash -c "$test_command"'
    assert "pytest -n" not in gate


def test_the_gate_stops_at_the_first_fault() -> None:
    """Also inside a pipe, and at an unset name."""
    assert "set -euo pipefail" in GATE.read_text("utf-8").splitlines()
    assert GATE.stat().st_mode & 0o111
    subprocess.run(["bash", "-n", str(GATE)], check=True)


def test_the_gate_knows_no_host_and_no_machine() -> None:
    """No address, and no path from the root of a disk but the shebang's."""
    _, *lines = GATE.read_text("utf-8").splitlines()
    assert [line for line in lines if "://" in line or re.search(r"(^|[\s\"'=(])/\w", line)] == []


# --- commands, options, exit codes -------------------------------------------------------------------


def section(text: str, title: str) -> str:
    """From a heading of the second level to the next."""
    found = re.search(rf"^## {re.escape(title)}\n(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    assert found, f"no section {title}"
    return found[1]


def table_rows(text: str) -> Iterator[list[str]]:
    """The cells of every line of a table, without its headings."""
    for is_table, lines in groupby(text.splitlines(), key=lambda line: line.startswith("|")):
        if is_table:
            cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
            yield from cells[2:]


def commands_of_readme() -> list[str]:
    first = [row[0].strip("`").split() for row in table_rows(section(README.read_text("utf-8"), "Commands"))]
    return [words[1] for words in first if words[0] == "hardenoff"]


def test_every_command_is_in_the_readme() -> None:
    """All of them, in the order of the help, and none that isn't there."""
    assert commands_of_readme() == [command.__name__ for command, _ in COMMANDS]


@pytest.mark.parametrize("command", [command.__name__ for command, _ in COMMANDS])
def test_every_command_has_help(command: str) -> None:
    """More than its usage: a sentence on what it answers, and a word on each option."""
    result = CliRunner().invoke(app, [command, "--help"])
    assert result.exit_code == Exit.DONE
    sentence = result.stdout.split("\n\n")[1].strip()
    assert sentence.endswith(".")
    assert not re.search(r"^  --\S+( [A-Z-]+)?$\n(?!   )", result.stdout, re.MULTILINE), "an option without a word"


def test_every_shared_option_is_in_the_readme() -> None:
    """With the name it is given by."""
    text = section(README.read_text("utf-8"), "Commands")
    names = [f"--{option.name.replace('_', '-')}" for option in OPTIONS]
    assert [name for name in names if f"`{name}" not in text] == []


def test_exit_codes_are_those_of_the_program() -> None:
    """README's table has all codes, the help those that a script meets."""
    rows = [row for row in table_rows(section(README.read_text("utf-8"), "Commands")) if row[0].isdecimal()]
    assert [int(row[0]) for row in rows] == [code.value for code in Exit]
    assert {int(code) for code, _ in EXIT_CODES} <= {code.value for code in Exit}


def test_commands_in_the_text_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The `hardenoff init ...` of the three steps writes a file that `check` accepts."""
    monkeypatch.chdir(tmp_path)
    line = next(code for code in inline_code(README.read_text("utf-8")) if code.startswith("hardenoff init --"))
    written = CliRunner().invoke(app, shlex.split(line)[1:])
    assert written.exit_code == Exit.DONE, written.stderr
    assert CliRunner().invoke(app, ["check"]).exit_code == Exit.DONE


def inline_code(text: str) -> list[str]:
    """Everything in single backticks, on one line each."""
    without_blocks = re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)
    return [" ".join(code.split()) for code in re.findall(r"`([^`]+)`", without_blocks)]


# --- the garden file ---------------------------------------------------------------------------------

EXAMPLES = fenced(README.read_text("utf-8"), "toml")


@pytest.mark.parametrize("example", EXAMPLES, ids=range(len(EXAMPLES)))
def test_every_garden_example_is_read(example: str) -> None:
    """As it stands, with a place and a batch where it has none; each spot in it is there afterwards."""
    given = tomllib.loads(example)
    text = "".join(["" if "place" in given else BASE, example, "" if "batch" in given else BATCH])
    garden = garden_from_text(Path("README.md"), text)
    assert {spot["name"] for spot in given.get("spot", [])} <= {spot.name for spot in garden.spots}


def test_the_four_ways_to_describe_a_spot_have_examples() -> None:
    """Roof, walls, skyline, times seen; and a shade cloth at another spot's place."""
    spots = [spot for example in EXAMPLES for spot in tomllib.loads(example).get("spot", [])]
    assert {"roof", "walls", "skyline", "sun_seen", "like", "shade"} <= {key for spot in spots for key in spot}


def test_the_state_by_hand_is_read() -> None:
    """The line that the three steps offer."""
    line = next(code for code in inline_code(README.read_text("utf-8")) if code.startswith("state = {"))
    batch = garden_from_text(Path("README.md"), f"{BASE}{BATCH}{line}\n").batches[0]
    assert batch.state is not None


def test_every_key_is_explained() -> None:
    """Each key of every heading stands in README's table, and the table has no other."""
    rows = [row for row in table_rows(section(README.read_text("utf-8"), "The garden file")) if len(row) == 3]
    told: dict[str, set[str]] = {}
    heading = ""
    for where, names, meaning in rows:
        heading = where.strip("`[]") or heading
        crop_values = names == "crop values"
        told.setdefault(heading, set()).update(re.findall(r"`(\w+)`", meaning if crop_values else names))
    asked = {name: set(keys(table)) for name, table in TABLES.items()}
    assert told == {"top": set(keys(RootTable)), **asked}


# --- files -------------------------------------------------------------------------------------------

MODULES = {path.relative_to(PACKAGE).as_posix() for path in PACKAGE.rglob("*.py")}
SCRIPTS = sorted(path for folder in ("tests", "fixtures", "examples") for path in (ROOT / folder).rglob("*.py"))


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_every_file_says_what_it_is_for(path: Path) -> None:
    """In the first line of its docstring; the package's own files are held to it in test_shape."""
    text = ast.get_docstring(ast.parse(path.read_text("utf-8")))
    assert text is not None
    assert text.splitlines()[0].strip()


def map_of_modules() -> Iterator[str]:
    """Module paths of DEVELOPERS' map: a heading names the folder, `code` below it the modules."""
    for part in re.split(r"^### ", section(DEVELOPERS.read_text("utf-8"), "Map"), flags=re.MULTILINE)[1:]:
        heading, _, body = part.partition("\n")
        folder = re.findall(r"`(\w+)/`", heading)
        for name in re.findall(r"`(\w+\.py)`", body):
            yield "/".join([*folder, name])


def test_the_map_names_every_module() -> None:
    """Each once, and none that isn't there; a package is named by its heading."""
    named = list(map_of_modules())
    assert sorted(named) == sorted(path for path in MODULES if not path.endswith("__init__.py"))


def test_the_map_names_every_package() -> None:
    """Folders without code among them."""
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert folders <= set(re.findall(r"`(\w+)/`", section(DEVELOPERS.read_text("utf-8"), "Map")))


@pytest.mark.parametrize("document", [README, DEVELOPERS], ids=lambda path: path.name)
def test_paths_in_the_documents_are_there(document: Path) -> None:
    """Whatever begins with a folder of the project."""
    folders = ("hardenoff", "tests", "fixtures", "examples", ".ci")
    found = [code for code in inline_code(document.read_text("utf-8")) if code.split("/")[0] in folders]
    paths = [code for code in found if re.fullmatch(r"[\w./-]+", code) and "/" in code]
    assert paths
    assert [path for path in paths if not (ROOT / path).exists()] == []


TABLE_FILES = sorted((PACKAGE / "tables").glob("*.csv"))


@pytest.mark.parametrize("path", TABLE_FILES, ids=lambda path: path.name)
def test_every_row_of_every_table_has_its_source(path: Path) -> None:
    """Also in tables to come: a mark, a source, and a unit where the table has numbers."""
    for row in csv.DictReader(path.read_text("utf-8").splitlines()):
        assert row["mark"] in MARKS
        assert row["source"].strip()
        assert row.get("unit", "none needed").strip()


def test_every_table_is_named_in_the_developers_document() -> None:
    """With what it holds."""
    text = DEVELOPERS.read_text("utf-8")
    assert [path.name for path in TABLE_FILES if f"`{path.name}`" not in text] == []


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text("utf-8")), "utf-8")
    sys.stderr.write(f"wrote {README.name}\n")
