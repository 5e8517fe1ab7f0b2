"""The hours that are over, kept from run to run, so that days already lived can be planned again as they were.

One CSV a place in `hours/` of the state folder, with the columns of the hourly frame. Later runs overwrite what
earlier ones had of the same hour: the nearer the run, the better it knew.
"""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from hardenoff.errors import UnreadableError
from hardenoff.forecast.hours import COLUMN_NAMES, Forecast
from hardenoff.records import Place
from hardenoff.whole import read_file, write_whole

if TYPE_CHECKING:
    import pandas as pd

KEPT_DAYS = 40


def past_path(folder: Path, place: Place) -> Path:
    """The file of a place, named by its coordinates to two decimals."""
    return folder / "hours" / f"{place.latitude:.2f}_{place.longitude:.2f}.csv"


def with_past(folder: Path, place: Place, forecast: Forecast) -> Forecast:
    """The forecast with the kept hours before its first one; as it is where none are kept or can be read."""
    import pandas as pd

    past = _read(past_path(folder, place))
    if past is None or forecast.hours.empty:
        return forecast
    first = forecast.hours.index[0]
    earlier = past[(past.index < first) & (past.index >= first - timedelta(days=KEPT_DAYS))]
    if earlier.empty:
        return forecast
    whole = pd.concat([earlier, forecast.hours])
    every_hour = pd.date_range(whole.index[0], whole.index[-1], freq="h", name="time")
    return replace(forecast, hours=whole.reindex(every_hour).astype("float64"))


def keep_past(folder: Path, place: Place, forecast: Forecast, now: datetime) -> str | None:
    """Keep the hours before `now`, of the last forty days; what went wrong, where they can't be kept."""
    hours = forecast.hours
    over = hours[(hours.index < now) & (hours.index >= now - timedelta(days=KEPT_DAYS))]
    if over.empty:  # by a clock that is wrong: what is kept is worth more
        return None
    path = past_path(folder, place)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, over.to_csv(float_format="%.3f", date_format="%Y-%m-%dT%H:%M:%SZ").encode())
    except OSError as fault:
        return f"the hours that are over can't be kept ({fault.strerror})"
    return None


def _read(path: Path) -> pd.DataFrame | None:
    """The kept hours, by the contract of all hours; None where there are none, or no such ones."""
    import pandas as pd

    from hardenoff.forecast.frame import finish_hours

    try:
        content = io.BytesIO(read_file(path))
        frame = pd.read_csv(content, index_col="time", parse_dates=["time"], date_format="ISO8601")
        if list(frame.columns) != list(COLUMN_NAMES):
            return None
        return finish_hours(frame.astype("float64"))[0]
    except (OSError, ValueError, LookupError, UnreadableError):  # pandas looks up columns of a damaged heading
        return None
