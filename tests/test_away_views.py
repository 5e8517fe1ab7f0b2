"""How an absence is told: the comparison, the sitter's page, and the command with its faults."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sample_away import FIRST, LAST, NOTE, batch, comparison, held, sitter_day
from sample_schedule import at
from typer.testing import CliRunner, Result

from hardenoff.cli.app import app
from hardenoff.errors import Exit
from hardenoff.schedule.away_records import SitterDay
from hardenoff.schedule.records import Move
from hardenoff.views import away, sitter

ROOT = Path(__file__).parents[1]
SALE = ROOT / "examples" / "plant-sale"
ASKED = ("--garden", SALE / "garden.toml", "--forecast-file", SALE / "forecast.json")
NOW = ("--now", "2027-04-22T06:40")

# --- the comparison --------------------------------------------------------------------------------


def lines(text: str) -> list[str]:
    """Lines without what is only layout."""
    return [" ".join(line.split()) for line in text.splitlines()]


TOLD = lines(away.render(comparison(), width=120))


def test_each_batch_has_its_advice_in_one_line() -> None:
    """What to do, what it loses, what it asks."""
    assert "Peppers: leave at carport, no day lost; 2 carries, 6 min" in TOLD
    assert "Basil: hold inside, days lost unknown" in TOLD


def test_a_way_says_date_loss_and_work() -> None:
    """One carry and one day are told in the singular."""
    assert "hold inside hardened Fri 14 May, 2 days lost" in TOLD
    assert "ask a sitter hardened Fri 14 May, 1 day lost; 1 carry, 3 min" in TOLD


def test_a_spot_to_leave_at_says_when_it_goes_out_and_in() -> None:
    """With both dates."""
    assert any(
        line.startswith("leave outside carport, out Wed 5 May 20:45, in from Sun 9 May 06:30;") for line in TOLD
    )


def test_spots_that_fail_alike_are_told_together() -> None:
    """The hour, the limit, the number; in the grower's units."""
    assert "- long bed and steps, Thu 6 May 13:15: direct sun if clear: 9:00, limit 4:00" in TOLD
    assert "- carport, Sat 8 May 02:00: gusts at the plants: 18 mph, limit 13 mph" in TOLD


def test_small_odds_are_never_nothing() -> None:
    """0.2 % is told as under 1 %."""
    assert any(line.endswith("Sat 8 May: under 1 %, limit 10 %") for line in TOLD)


def test_unknown_nights_have_both_their_dates() -> None:
    """And what is done about them."""
    assert "- not known yet, so spent inside: the night Sat 8 -> Sun 9 May" in TOLD


@pytest.mark.parametrize(
    ("count", "told"),
    [
        (2, "the nights Sat 8 -> Sun 9 May and Sun 9 -> Mon 10 May"),
        (4, "the 4 nights from Sat 8 -> Sun 9 May to "),
    ],
)
def test_several_unknown_nights(count: int, told: str) -> None:
    """A long run by its first and last."""
    evenings = tuple(LAST + timedelta(days=n) for n in range(count))
    options = tuple(replace(one, unknown_nights=evenings) for one in batch().options)
    text = " ".join(lines(away.render(comparison(batches=(batch(options=options),)), width=120)))
    assert told in text


def test_hardened_before_is_said() -> None:
    """Its finish at home lies before the absence."""
    assert "at home hardened Wed 12 May, before you leave" in TOLD


def test_batches_that_fare_alike_are_told_once() -> None:
    """By both names."""
    two = comparison(batches=(batch(), batch("chillies", trays=5), held()))
    told = lines(away.render(two))
    assert sum(line.startswith("Peppers and chillies:") for line in told) == 1


def test_the_line_for_the_garden_file_stays_whole() -> None:
    """At any width, to be copied; nothing where it is there already."""
    line = 'away = ["2027-05-06/2027-05-08"]'
    assert line in away.render(comparison(), width=40)
    assert "garden.toml has these days already." in away.render(comparison(garden_line=None))


def test_nothing_to_compare_is_said() -> None:
    """No batch is carried in these days."""
    assert "Nothing is carried" in away.render(comparison(batches=()))


def test_colour_only_underlines() -> None:
    """The words are the same without it."""
    coloured = away.render(comparison(), colour=True)
    assert "\x1b[" in coloured
    assert lines(re.sub(r"\x1b\[[0-9;]*m", "", coloured)) == lines(away.render(comparison()))


# --- the sitter's page -----------------------------------------------------------------------------

PAGE = sitter.render(comparison())


def test_the_page_as_it_is_printed() -> None:
    """Whole: what to carry from where to where until when, water, nights, whom to call, cautions, the forecast."""
    assert PAGE == (
        "PLANTS TO LOOK AFTER: Quarry Lane\n"
        "Thu 6 May to Sat 8 May 2027. Back on Sun 9 May.\n"
        "You are there 08:00-09:00 and 17:30-19:00. Tick each box when it is done.\n"
        "\n"
        "In doubt, call: ________________________  or: ________________________\n"
        "\n"
        "THU 6 MAY\n"
        "    [ ]  08:00   peppers, basil (3 trays): inside -> carport, until 17:30\n"
        "    [ ]  17:30   basil (1 tray): carport -> inside\n"
        "    [ ] soil checked in the morning   [ ] and at noon, if sunny and windy\n"
        "    Tonight OUT at carport: peppers. If less than 50°F is forecast: in.\n"
        "    Tonight IN: basil (not below 55°F).\n"
        "\n"
        "FRI 7 MAY\n"
        "    Nothing to carry.\n"
        "    [ ] soil checked in the morning   [ ] and at noon, if sunny and windy\n"
        "    Tonight OUT at carport, UNDER ITS COVER until the morning: basil. If less\n"
        "        than 55°F is forecast: in.\n"
        "\n"
        "SAT 8 MAY\n"
        "    [ ]  08:00   basil (1 tray): carport -> inside\n"
        "    Past the forecast: all stay inside. Ask for a new sheet before this day.\n"
        "    [ ] soil checked in the morning   [ ] and at noon, if sunny and windy\n"
        "\n"
        "Not carried, look at their soil too: leeks.\n"
        "! Trays are heavy: carry one at a time, or lift with somebody's help.\n"
        "! Keep water away from lamps, heating mats, plugs and cables; dry hands first.\n"
        "! A local frost warning comes before this sheet: then everything comes inside.\n"
        "! If you can't come, or are not sure: inside is the place that does least harm.\n"
        "Forecast: open-meteo, 1.5 h old (just fetched). Sheet made Wed 5 May 06:40.\n"
        "Weather changes: ask for a new sheet after two days.\n"
    )


def test_a_long_absence_keeps_to_one_page() -> None:
    """Whole days, then the day before which a new sheet is needed."""
    days = tuple(sitter_day(FIRST + timedelta(days=n)) for n in range(20))
    page = sitter.render(comparison(sheet=days, last=FIRST + timedelta(days=19))).splitlines()
    assert len(page) <= 60
    (end,) = [line for line in page if line.startswith("THE PAGE ENDS HERE")]
    shown = [day for day in days if f"{day.date:%a} {day.date.day} {day.date:%b}".upper() in page]
    assert 1 < len(shown) < 20
    missing = days[len(shown)].date
    assert f"{missing:%a} {missing.day} {missing:%b}".upper() in end


def test_a_crowded_day_says_that_it_does_not_fit() -> None:
    """A hundred carries on one day: it says so instead of passing for whole."""
    crowd = tuple(
        Move(
            at(8, on=FIRST), (f"batch with a rather long name {n}",), 1, "inside", "the far end of the long bench"
        )
        for n in range(100)
    )
    page = sitter.render(comparison(sheet=(sitter_day(FIRST, moves=crowd),))).splitlines()
    assert len(page) <= 60
    assert any("THAN FITS ON A PAGE" in line for line in page)


@pytest.mark.parametrize("name", ["x" * 90, "a long name of many words " * 5, "é" * 70])
def test_no_line_is_wider_than_the_page(name: str) -> None:
    """Whatever batches, spots and the place are called."""
    day = sitter_day(FIRST, moves=(Move(at(8, on=FIRST), (name, name), 2, name, name),))
    page = sitter.render(comparison(place=name, stay_put=(name,), sheet=(day,))).splitlines()
    assert max(map(len, page)) <= 80


def test_a_single_day_away_is_one_date() -> None:
    """In both views."""
    one = comparison(last=FIRST, sheet=(sitter_day(FIRST),))
    assert sitter.render(one).splitlines()[1] == "Thu 6 May 2027. Back on Fri 7 May."
    assert away.render(one).startswith("Away Thu 6 May. Sitter")


def test_a_stay_ends_with_the_next_carry_from_there() -> None:
    """Not with one of the same morning, before it came there."""
    moves = (
        Move(at(8, on=FIRST), ("basil",), 1, "carport", "steps"),
        Move(at(8, 45, on=FIRST), ("basil",), 1, "steps", "carport"),
        Move(at(18, on=FIRST), ("basil",), 1, "carport", "steps"),
    )
    page = lines(sitter.render(comparison(sheet=(sitter_day(FIRST, moves=moves),))))
    assert "[ ] 08:45 basil (1 tray): steps -> carport, until 18:00" in page
    assert "[ ] 18:00 basil (1 tray): carport -> steps, for the night" in page


def test_days_past_the_forecast_take_one_entry() -> None:
    """All that follow with the first."""
    days = tuple(SitterDay(FIRST + timedelta(days=n), False, (), ()) for n in range(3))
    page = sitter.render(comparison(sheet=days))
    assert "THU 6 MAY AND AFTER\n    Past the forecast" in page
    assert "FRI 7 MAY" not in page


def test_an_old_forecast_stands_out_on_the_page() -> None:
    """In capitals, with its age."""
    old = replace(NOTE, status="stale", age_hours=30.0)
    assert "30 h old (OLD COPY" in " ".join(sitter.render(comparison(forecast=old)).split())


# --- the command -----------------------------------------------------------------------------------


def run(*arguments: str | Path) -> Result:
    """The program in this process."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def told() -> Result:
    """Three days away from the plant sale."""
    return run("away", "2027-04-24", "2027-04-26", *ASKED, *NOW)


def test_the_page_comes_after_the_comparison(told: Result) -> None:
    """Both on stdout, and nothing said of files."""
    assert told.exit_code == Exit.DONE, told.stderr
    assert told.stdout.startswith("Away Sat 24 Apr to Mon 26 Apr")
    assert "\nPLANTS TO LOOK AFTER: Limestone Lane nursery\n" in told.stdout
    assert told.stderr == ""


def test_the_page_can_go_into_a_file(told: Result, tmp_path: Path) -> None:
    """Then it is not printed; the file is the very same page."""
    path = tmp_path / "sheet.txt"
    result = run("away", "2027-04-24", "2027-04-26", *ASKED, *NOW, "--sheet", path)
    assert told.stdout == f"{result.stdout}\n{path.read_text('utf-8')}"
    assert result.stderr == f"saved {path}\n"


def test_the_page_alone_can_go_to_stdout(told: Result) -> None:
    """To be piped to a printer."""
    result = run("away", "2027-04-24", "2027-04-26", *ASKED, *NOW, "--sheet", "-")
    assert told.stdout.endswith(f"\n{result.stdout}")
    assert result.stdout.startswith("PLANTS TO LOOK AFTER")


def test_the_document_has_what_the_page_has() -> None:
    """The dates, the sitter's hours as given, a way for each batch."""
    result = run(
        "away", "2027-04-24", "2027-04-26", *ASKED, *NOW, "--json", "--sitter", "18:00-19:30, 07:00-08:00"
    )
    document = json.loads(result.stdout)
    assert (document["from"], document["until"]) == ("2027-04-24", "2027-04-26")
    assert document["sitter"] == ["07:00-08:00", "18:00-19:30"]
    assert [batch["batch"] for batch in document["batches"]] == ["tomatoes", "peppers", "cabbages", "petunias"]
    hours = {move["at"][11:13] for day in document["sheet"] for move in day["moves"]}
    assert hours <= {"07", "08", "18", "19"}


def test_the_garden_file_is_left_alone(told: Result) -> None:
    """It says the line, and writes nothing."""
    assert 'away = ["2027-04-24/2027-04-26"]' in told.stdout
    assert "away" not in (SALE / "garden.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("2027-04-22", "2027-04-26"), "is not ahead: today is 2027-04-22"),
        (("2027-04-26", "2027-04-24"), "ends before it begins"),
        (("2027-04-24", "2027-09-01"), "is too far ahead"),
        (("24.4.", "2027-04-26"), '"24.4." is no date'),
        (("2027-04-24", "2027-04-26", "--sitter", "mornings"), "is no span of the day"),
        (("2027-04-24", "2027-04-26", "--sheet", "-", "--json"), "both want stdout"),
    ],
)
def test_a_slip_is_told_in_three_parts(arguments: tuple[str, ...], said: str) -> None:
    """Exit code 2, nothing on stdout."""
    result = run("away", *arguments, *ASKED, *NOW)
    assert (result.exit_code, result.stdout) == (Exit.USAGE, "")
    assert said in result.stderr
    assert "expected:" in result.stderr
    assert "do this:" in result.stderr


def test_a_page_that_cant_be_written_is_a_fault(tmp_path: Path) -> None:
    """A folder that is not there."""
    result = run("away", "2027-04-24", "2027-04-24", *ASKED, *NOW, "--sheet", tmp_path / "no" / "sheet.txt")
    assert result.exit_code == Exit.USAGE
    assert "can't be written" in result.stderr
