"""`demo`: the morning check on the packaged garden. Its own clock, no network, and it writes nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from hardenoff.cli import load
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.cli.output import answer, remark, show_today

INVENTED = "\nGarden and forecast are invented. For your own: hardenoff init\n"


@takes_shared
def demo(shared: Shared) -> None:
    """A morning check on a packaged garden and forecast: needs no file and no network, and writes nothing."""
    from hardenoff.demo import DEMO_NOW, demo_forecast_bytes, demo_text
    from hardenoff.fetch import unpack
    from hardenoff.garden import garden_from_text

    garden = garden_from_text(Path("the demo's garden"), demo_text())
    now = load.now(replace(shared, now=shared.now or DEMO_NOW.isoformat()), garden.place)
    obtained = unpack(garden, now, demo_forecast_bytes(), "the demo's forecast")
    show_today(shared, load.planned(garden, obtained, now))
    unused = [name for name in ("garden", "forecast_file", "save_forecast") if getattr(shared, name) is not None]
    if unused:
        options = ", ".join(f"--{name.replace('_', '-')}" for name in unused)
        remark(f"the demo brings its own garden and forecast and writes nothing: {options} not used")
    if not shared.json:
        answer(INVENTED)
