"""The program as a whole: its commands, its help with examples first, and faults turned into exit codes."""

from __future__ import annotations

import re
from typing import Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from hardenoff import __version__
from hardenoff.cli.away import away
from hardenoff.cli.demo import demo
from hardenoff.cli.forecast import forecast
from hardenoff.cli.garden import check, init
from hardenoff.cli.log import SHIELD, log
from hardenoff.cli.morning import plan, today, tonight
from hardenoff.cli.options import SECTION, keeps_shared
from hardenoff.cli.output import remark
from hardenoff.cli.sun import sun
from hardenoff.cli.trial import trial
from hardenoff.errors import Exit, HardenoffError

PURPOSE = "hardenoff: what goes outside today, from when until when, and what about tonight."
EXAMPLES = (
    ("hardenoff demo", "a morning check that needs no garden file"),
    ("hardenoff init", "write a garden file"),
    ("hardenoff today", "the morning check of your garden"),
    ("hardenoff tonight --quiet", "speak up only if there is something to do"),
    ("hardenoff log in peppers", "what went otherwise than planned"),
    ("hardenoff sun porch --season", "when the sun reaches a spot"),
)
COMMANDS = (
    (demo, "a morning check on a packaged garden"),
    (init, "write a garden file to begin with"),
    (check, "read the garden file; all faults at once"),
    (today, "the morning check: what goes where, until when"),
    (tonight, "the cold watch: what comes in, what is covered"),
    (plan, "every day to plant-out, and what a hold costs"),
    (away, "days away: hold, leave outside, or ask a sitter"),
    (log, "what was really done; it beats what was planned"),
    (sun, "when the sun reaches a spot; needs no forecast"),
    (forecast, "the hours as read, and what is missing"),
    (trial, "past weather: the plan against the chart"),
)
"""In the order of a grower's day; the words are for the list, the docstring is for the command's own help."""
EXIT_CODES = (
    ("0", "answered, also with unknown nights"),
    ("2", "the command line or the garden file is wrong"),
    ("3", "no forecast to be had: keep inside"),
    ("4", "data that can't be read"),
    ("10", "tonight --exit-code: something to do"),
)


class Program(TyperGroup):
    """Examples first in the help; a fault we know becomes three lines on stderr and its exit code."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command."""
        try:
            return super().invoke(ctx)
        except HardenoffError as fault:
            remark(str(fault))
            raise typer.Exit(fault.exit_code) from fault
        except typer.Abort as stopped:  # Ctrl-C or the end of input at a question
            raise typer.Exit(Exit.INTERRUPTED) from stopped

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Purpose, examples, commands, then the options and the exit codes."""
        self.format_short(ctx, formatter)
        formatter.write_paragraph()
        self.format_usage(ctx, formatter)
        _options(self, ctx, formatter)
        with formatter.section("Exit codes"):
            formatter.write_dl(EXIT_CODES)

    def format_short(self, ctx: Any, formatter: Any) -> None:
        """What a bare `hardenoff` prints."""
        formatter.write_text(PURPOSE)
        with formatter.section("Examples"):
            formatter.write_dl(EXAMPLES)
        self.format_commands(ctx, formatter)


class Command(TyperCommand):
    """A command whose own options come before those that all commands share."""

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Two sections of options."""
        _options(self, ctx, formatter)


class Spoken(Command):
    """A command of words: one that begins with a minus and a digit is a temperature, and no option."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Such words go past the options behind a shield, which the command takes off again."""
        return super().parse_args(ctx, [re.sub(r"^(?=-\.?\d)", SHIELD, word) for word in args])


def _options(command: TyperCommand | TyperGroup, ctx: Any, formatter: Any) -> None:
    sections: dict[str, list[tuple[str, str]]] = {}
    for parameter in command.get_params(ctx):
        record = parameter.get_help_record(ctx)
        if record is not None:
            kind = "Arguments" if parameter.param_type_name == "argument" else "Options"
            sections.setdefault(getattr(parameter, "rich_help_panel", None) or kind, []).append(record)
    for title in sorted(sections, key=("Arguments", "Options", SECTION).index):
        with formatter.section(title):
            formatter.write_dl(sections[title])


app = typer.Typer(
    name="hardenoff",
    cls=Program,
    rich_markup_mode=None,  # plain help: quick to print, the same on every machine
    pretty_exceptions_enable=False,  # a bug keeps Python's own traceback
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"hardenoff {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
@keeps_shared
def hardenoff(
    ctx: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Print the version.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Without a command, print the short help."""
    if ctx.invoked_subcommand is None:
        formatter = ctx.make_formatter()
        assert isinstance(ctx.command, Program)
        ctx.command.format_short(ctx, formatter)
        typer.echo(f"{formatter.getvalue()}\nMore: hardenoff --help, or hardenoff COMMAND --help.")


for command, in_a_line in COMMANDS:
    kind = Spoken if command is log else Command
    app.command(command.__name__, cls=kind, short_help=in_a_line)(command)
