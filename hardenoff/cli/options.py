"""The options that all commands share: each may stand before or after the command's name, and the later wins."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import wraps
from pathlib import Path
from typing import Annotated, Any

import typer

SECTION = "Options of every command"


def _option(*names: str, help: str, metavar: str | None = None) -> Any:
    return typer.Option(*names, help=help, metavar=metavar, rich_help_panel=SECTION, show_default=False)


@dataclass(frozen=True, slots=True)
class Shared:
    """What was given, None where nothing was. The fields are the options: name, type and help."""

    garden: Annotated[
        Path | None,
        _option("--garden", metavar="PATH", help="The garden file (else HARDENOFF_GARDEN, else ./garden.toml)."),
    ] = None
    now: Annotated[
        str | None,
        _option(
            "--now", metavar="ISO-TIME", help="Answer as at this time; without an offset it is the place's time."
        ),
    ] = None
    forecast_file: Annotated[
        Path | None,
        _option("--forecast-file", metavar="PATH", help="Read this saved reply or bundle instead of asking."),
    ] = None
    save_forecast: Annotated[
        Path | None,
        _option("--save-forecast", metavar="PATH", help="Save the forecast that was used, for --forecast-file."),
    ] = None
    offline: Annotated[bool | None, _option("--offline", help="Open no connection; use what was kept.")] = None
    json: Annotated[bool | None, _option("--json", help="Answer as JSON, in SI units.")] = None
    no_color: Annotated[bool | None, _option("--no-color", help="No colour (NO_COLOR does the same).")] = None

    def then(self, later: Shared) -> Shared:
        """These options with those given later in their place."""
        given = {field.name: getattr(later, field.name) for field in fields(later)}
        return replace(self, **{name: value for name, value in given.items() if value is not None})


def _keywords(function: Callable[..., Any]) -> list[inspect.Parameter]:
    parameters = inspect.signature(function, eval_str=True).parameters.values()
    return [
        parameter.replace(kind=inspect.Parameter.KEYWORD_ONLY)
        for parameter in parameters
        if parameter.kind is not inspect.Parameter.VAR_KEYWORD
    ]


OPTIONS = _keywords(Shared)
CONTEXT = inspect.Parameter("ctx", inspect.Parameter.POSITIONAL_OR_KEYWORD, annotation=typer.Context)


def takes_shared(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the shared options: what came before its name and after it arrives as one `Shared`."""

    @wraps(command)
    def merged(ctx: typer.Context, **given: Any) -> None:
        after = Shared(**{option.name: given.pop(option.name) for option in OPTIONS})
        command(ctx.obj.then(after), **given)

    return _signed(merged, _keywords(command)[1:])


def keeps_shared(program: Callable[..., None]) -> Callable[..., None]:
    """Give the program the same options: what comes before a command's name is kept for the command."""

    @wraps(program)
    def kept(ctx: typer.Context, **given: Any) -> None:
        ctx.obj = Shared(**{option.name: given.pop(option.name) for option in OPTIONS})
        program(ctx, **given)

    return _signed(kept, _keywords(program)[1:])


def _signed(function: Callable[..., None], own: list[inspect.Parameter]) -> Callable[..., None]:
    """What typer reads: the context, the function's own parameters, then the shared ones."""
    function.__signature__ = inspect.Signature([CONTEXT, *own, *OPTIONS])  # type: ignore[attr-defined]
    return function
