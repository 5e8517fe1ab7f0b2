"""A first garden file from a few answers, with an example of every way to describe a spot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from hardenoff.records import UnitSystem

# What the examples say in either system; about the same sizes.
_EXAMPLES: Mapping[UnitSystem, Mapping[str, str]] = {
    "us": {
        "elevation": "790 ft",
        "night": "62 F",
        "day": "68 F",
        "roof": 'above = "7 ft", front = "5 ft", back = "2 ft", left = "6 ft", right = "6 ft"',
        "distance": "8 ft",
        "height": "5 ft 6 in",
        "cover": "2 F",
        "colder": "3 F",
    },
    "metric": {
        "elevation": "240 m",
        "night": "17 C",
        "day": "20 C",
        "roof": 'above = "2.1 m", front = "1.5 m", back = "0.6 m", left = "1.8 m", right = "1.8 m"',
        "distance": "2.4 m",
        "height": "1.7 m",
        "cover": "1 C",
        "colder": "1.5 C",
    },
}

_TEMPLATE = """\
# The garden file of hardenoff. A line that begins with # is a remark.
# A remark without a space after its # is an example: take the # away to use it.
# Lengths, temperatures and speeds carry their unit in quotes: "8 ft", "2.4 m", "50 F", "10 C", "25 mph".
# `hardenoff check` says what is wrong or missing in here.

units = {units}

[place]
name = {name}
latitude = {latitude}  # north is positive
longitude = {longitude}  # east is positive
{elevation_line}
timezone = {timezone}

# When someone is there to carry trays, and how many at a time.
[carer]
weekdays = {weekdays}
weekends = {weekends}
#away = ["{today}/{today}"]  # first and last day; the nights between count as away too
moves_per_day = 4  # for one batch
trays_per_trip = 2
minutes_per_trip = 3
#[carer.days]
#fri = ["13:00-21:00"]  # a weekday of its own
#"{today}" = ["12:00-13:00"]  # or a single date

# The room where they wait.
[inside]
night = "{night}"
day = "{day}"
light = "lamp"  # lamp, window or dim

# --- Spots -------------------------------------------------------------------------------------------
# Somewhere outside where a tray can stand. Bearings are degrees clockwise from true north (90 = east), heights
# are measured from the plants' own height. There are four ways to say what stands between a spot and the sun.
# Without any [[spot]], a shaded porch and an open place are taken.

# 1. Under a roof. Stand at the tray and look out: how high is the roof, how far does it reach?
#[[spot]]
#name = "porch"
#roof = {{ {roof}, open_to = 90 }}
#shelter = 0.4  # share of the open wind that gets there
#holds = 8  # trays

# 2. Beside walls or fences. `towards` is the bearing from the tray to the wall.
#[[spot]]
#name = "fence corner"
#walls = [ {{ towards = 270, distance = "{distance}", height = "{height}" }} ]

# 3. By its skyline: pairs of bearing and height, both in degrees. A fist at arm's length is about 10.
#[[spot]]
#name = "bed"
#skyline = [[90, 12], [180, 5], [270, 20]]
#cover = "{cover}"  # what a cover that lies ready there gains at night
#colder = "{colder}"  # its nights are so much colder than the forecast

# 4. By watching: when was the sun there, on one day or on several?
#[[spot]]
#name = "steps"
#sun_seen = [ {{ date = {today}, from = "09:40", until = "12:15" }} ]

# A shade cloth makes a spot of its own at the same place. 0.5 lets half of the light through.
#[[spot]]
#name = "bed under cloth"
#like = "bed"
#shade = [0.5]

# --- Batches -----------------------------------------------------------------------------------------
# Plants of one crop and age that move together.
{batches}"""

_BATCH = """
[[batch]]
name = {name}
crop = {crop}
plants = {plants}
trays = 1
#sown = {today}
#lamp = {{ ppfd = 200, hours = 16 }}  # light at the leaves in umol/m2/s, hours a day
#plant_out_at = "bed"
#start = {today}  # the day of the first outing, once it has been
"""


def starter_text(
    *,
    name: str,
    latitude: float,
    longitude: float,
    timezone: str,
    today: date,
    units: UnitSystem = "metric",
    elevation: str | None = None,
    crops: Sequence[tuple[str, int]] = (("tomato", 12),),
    weekdays: Sequence[str] = ("07:00-21:00",),
    weekends: Sequence[str] = ("07:00-21:00",),
) -> str:
    """The text of a garden file that `read_garden` accepts.

    Parameters
    ----------
    elevation : str or None
        With its unit, as in "790 ft".
    crops : sequence of (crop, number of plants)
        One batch each, named after its crop.
    weekdays, weekends : sequence of str
        When someone is at home, as in "17:45-21:00".
    today : date
        Used in the examples.
    """
    example = _EXAMPLES[units]
    height = f"elevation = {_quoted(elevation)}" if elevation else f'#elevation = "{example["elevation"]}"'
    return _TEMPLATE.format(
        **example,
        units=_quoted(units),
        name=_quoted(name),
        latitude=latitude,
        longitude=longitude,
        elevation_line=height,
        timezone=_quoted(timezone),
        weekdays=_list(weekdays),
        weekends=_list(weekends),
        today=today.isoformat(),
        batches="".join(_batches(crops, today)),
    )


def _batches(crops: Sequence[tuple[str, int]], today: date) -> list[str]:
    """One [[batch]] a crop; a crop that comes again gets a number behind its name."""
    taken: list[str] = []
    texts = []
    for crop, plants in crops:
        taken.append(crop.casefold())
        again = taken.count(crop.casefold())
        name = crop if again == 1 else f"{crop} {again}"
        texts.append(_BATCH.format(name=_quoted(name), crop=_quoted(crop), plants=plants, today=today.isoformat()))
    return texts


def _list(texts: Sequence[str]) -> str:
    return f"[{', '.join(_quoted(text) for text in texts)}]"


def _quoted(text: str) -> str:
    import tomlkit

    return tomlkit.string(text).as_string()
