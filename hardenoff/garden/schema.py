"""The garden file's tables and keys: what each means, how it is written, and what may be left out.

Only imported when a garden is read: pydantic takes long to load. The tables hold SI values, still under the file's
own names; `spots`, `batches` and `carer` make records of them. Each key carries its meaning and an example line,
which are also what an error message shows.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from hardenoff.garden import values
from hardenoff.garden.kinds import (
    Absence,
    AirTemperature,
    Bearing,
    Clock,
    Colder,
    Count,
    Day,
    Elevation,
    Flag,
    Gain,
    Height,
    LampHours,
    Latitude,
    Length,
    Longitude,
    Minutes,
    Mol,
    MonthDay,
    Odds,
    Ppfd,
    RainRate,
    RampDays,
    RoomTemperature,
    Share,
    SkylinePoint,
    SomeLength,
    Text,
    WeekdayOrDay,
    Weeks,
    Window,
)
from hardenoff.records import Background, CarryingCost, InsideLight, UnitSystem, Way


def key(meaning: str, example: str, default: Any = ..., alias: str | None = None) -> Any:
    """A key of the file: what it means, and a line one could write."""
    return Field(default, description=meaning, examples=[example], alias=alias)


class Table(BaseModel):
    """A table of the file. A key that isn't listed is a fault, never ignored."""

    model_config = ConfigDict(extra="forbid", frozen=True)


# --- place and person ------------------------------------------------------------------------------


class PlaceTable(Table):
    """[place]: where the garden is."""

    name: Text = key("what you call the place", 'name = "Tannery Row"', "garden")
    latitude: Latitude = key("latitude of the garden", "latitude = 40.01")
    longitude: Longitude = key("longitude of the garden", "longitude = -83.02")
    elevation: Elevation | None = key("height above the sea", 'elevation = "790 ft"', None)
    timezone: Text = key("the place's zone in the IANA list", 'timezone = "America/New_York"')


class CarerTable(Table):
    """[carer]: when someone is there to carry, and how much."""

    weekdays: list[Window] | None = key(
        "when someone can carry, Monday to Friday", 'weekdays = ["17:45-21:00"]', None
    )
    weekends: list[Window] | None = key("when someone can carry at weekends", 'weekends = ["07:00-21:00"]', None)
    days: dict[WeekdayOrDay, list[Window]] = key(
        "weekdays or dates that differ, each with its windows", 'fri = ["13:00-21:00"]', {}
    )
    away: list[Absence] = key(
        "days away with the nights between, first/last", 'away = ["2027-05-01/2027-05-03"]', []
    )
    moves_per_day: Count = key("most moves a day for one batch", "moves_per_day = 4", 4)
    trays_per_trip: Count = key("trays carried at a time", "trays_per_trip = 2", 2)
    minutes_per_trip: Minutes = key("minutes for one trip there and back", "minutes_per_trip = 3", 3.0)


class InsideTable(Table):
    """[inside]: where they wait between outings."""

    night: RoomTemperature = key("room temperature at night", 'night = "62 F"', 17.0)
    day: RoomTemperature = key("room temperature by day", 'day = "68 F"', 20.0)
    light: Annotated[InsideLight, BeforeValidator(values.choice("lamp", "window", "dim"))] = key(
        "the light they wait in", 'light = "lamp"', "lamp"
    )


# --- spots -----------------------------------------------------------------------------------------


class RoofTable(Table):
    """A flat rectangle over the plant."""

    above: SomeLength = key("height of the roof above the plant", 'above = "7 ft"')
    front: Length = key("how far the roof reaches towards the open side", 'front = "5 ft"')
    back: Length = key("how far the roof reaches to the house", 'back = "2 ft"')
    left: Length = key("how far the roof reaches to the left, looking out", 'left = "6 ft"')
    right: Length = key("how far the roof reaches to the right, looking out", 'right = "6 ft"')
    open_to: Bearing = key("bearing the open side faces, in degrees from true north", "open_to = 180")
    house: Flag = key("whether a house stands along the back edge", "house = false", True)


class WallTable(Table):
    """A wall square to a bearing."""

    towards: Bearing = key("bearing from the plant to the wall, in degrees from true north", "towards = 90")
    distance: SomeLength = key("distance from the plant to the wall", 'distance = "6 ft"')
    height: SomeLength = key("height of the wall above the plant", 'height = "5 ft"')
    left: Length | None = key("how far the wall goes on to the left, seen from the plant", 'left = "10 ft"', None)
    right: Length | None = key(
        "how far the wall goes on to the right, seen from the plant", 'right = "10 ft"', None
    )


class TreeTable(Table):
    """A crown as a box of bearings and heights. Without `bare` it is evergreen."""

    from_: Bearing = key(
        "bearing of the crown's left edge, in degrees from true north", "from = 200", alias="from"
    )
    to: Bearing = key("bearing of the crown's right edge, in degrees from true north", "to = 250")
    bottom: Height = key("height of the crown's lower edge, in degrees", "bottom = 10")
    top: Height = key("height of the crown's upper edge, in degrees", "top = 50")
    leafy: Share = key("share of light that passes the crown in leaf", "leafy = 0.2")
    bare: Share | None = key("share of light that passes the bare crown", "bare = 0.5", None)
    leaf_out: MonthDay | None = key("day of the year it comes into leaf", 'leaf_out = "05-01"', None)
    leaf_fall: MonthDay | None = key("day of the year it is bare again", 'leaf_fall = "11-01"', None)


class SunSeenTable(Table):
    """Times at which the sun was seen at the spot."""

    on: Day = key("the date of looking", "date = 2027-04-20", alias="date")
    from_: Clock = key("when the sun came to the spot", 'from = "07:40"', alias="from")
    until: Clock = key("when the sun left the spot", 'until = "10:15"')


class ShelterTable(Table):
    """Wind from some bearings, slowed."""

    from_: Bearing = key("first bearing the wind comes from", "from = 225", alias="from")
    to: Bearing = key("last bearing the wind comes from, clockwise", "to = 315")
    share: Share = key("share of the open wind that arrives", "share = 0.3")


class SpotTable(Table):
    """[[spot]]: somewhere a tray can stand."""

    name: Text = key("what you call the spot", 'name = "carport"')
    roof: RoofTable | None = key(
        "a roof over the plant",
        'roof = { above = "7 ft", front = "5 ft", back = "2 ft", left = "6 ft", right = "6 ft", open_to = 180 }',
        None,
    )
    walls: list[WallTable] = key(
        "walls and fences", 'walls = [ { towards = 90, distance = "6 ft", height = "5 ft" } ]', []
    )
    trees: list[TreeTable] = key(
        "crowns of trees", "trees = [ { from = 200, to = 250, bottom = 10, top = 50, leafy = 0.2 } ]", []
    )
    skyline: list[SkylinePoint] = key(
        "bearings with the skyline's height there, both in degrees",
        "skyline = [[90, 12], [180, 5], [270, 20]]",
        [],
    )
    skyline_file: Text | None = key(
        "a CSV file bearing_deg,height_deg beside the garden file", 'skyline_file = "horizon.csv"', None
    )
    sun_seen: list[SunSeenTable] = key(
        "times the sun was seen at the spot",
        'sun_seen = [ { date = 2027-04-20, from = "07:40", until = "10:15" } ]',
        [],
    )
    shade: list[Share] = key("share of light that passes each shade layer", "shade = [0.5]", [])
    shelter: Annotated[list[ShelterTable], BeforeValidator(values.shelter)] | None = key(
        "share of the open wind that arrives, or a list by bearing", "shelter = 0.4", None
    )
    holds: Count | None = key("trays that fit", "holds = 8", None)
    colder: Colder | None = key("how much colder its nights are than the forecast", 'colder = "3 F"', None)
    cover: Gain | None = key("how much a cover kept there gains at night", 'cover = "2 F"', None)
    like: Text | None = key("another spot at the same place", 'like = "carport"', None)


# --- batches ---------------------------------------------------------------------------------------


class LampTable(Table):
    """The lamp a batch is raised under."""

    ppfd: Ppfd = key("light at the leaves in umol/m2/s", "ppfd = 200")
    hours: LampHours = key("hours of lamp light a day", "hours = 16")
    from_: Clock | None = key("when the lamp goes on", 'from = "06:00"', None, alias="from")


class StateTable(Table):
    """What a batch has got used to, as at 00:00 on a date."""

    on: Day = key("the date it is true for, at 00:00", "on = 2027-04-28")
    air: RampDays = key("ramp-days earned on air", "air = 4")
    sun: RampDays = key("ramp-days earned on sun", "sun = 2")
    cold: RampDays = key("nights out so far", "cold = 0", 0.0)
    light_mol: Mol | None = key("light it is used to, in mol/m2 a day", "light_mol = 14", None)


class BatchTable(Table):
    """[[batch]]: plants of one crop and age that move together."""

    name: Text = key("what you call the batch", 'name = "peppers"')
    crop: Text = key("the crop", 'crop = "sweet pepper"')
    plants: Count | None = key("number of plants", "plants = 12", None)
    trays: Count = key("number of trays", "trays = 1", 1)
    sown: Day | None = key("date of sowing", "sown = 2027-03-01", None)
    container: Text | None = key("what they grow in", 'container = "3 in pot"', None)
    lamp: LampTable | None = key("the lamp they are raised under", "lamp = { ppfd = 200, hours = 16 }", None)
    plant_out_at: Text | None = key("the spot they will be planted at", 'plant_out_at = "long bed"', None)
    start: Day | None = key("date of the first outing", "start = 2027-04-24", None)
    state: StateTable | None = key(
        "what they have got used to", "state = { on = 2027-04-28, air = 4, sun = 2, cold = 0 }", None
    )
    from_: (
        Annotated[Background, BeforeValidator(values.choice("lamp", "window", "greenhouse", "bought"))] | None
    ) = key("what they are used to", 'from = "lamp"', None, alias="from")
    nights: Flag = key("false if they never stay out at night", "nights = false", True)
    waits: Text | None = key("a cool spot where they wait between outings", 'waits = "carport"', None)
    rule: Text | None = key("the ramp rule", 'rule = "twelve_days"', None)
    way: Annotated[Way, BeforeValidator(values.choice("longer"))] | None = key(
        "longer: never out beyond the rule's hours", 'way = "longer"', None
    )

    # Values of the crop table that a batch may set for itself; `batches.RECORD_FIELDS` names their record fields.
    hardy: Flag | None = key("whether it gains cold tolerance in cool keeping", "hardy = true", None)
    weeks_to_transplant: list[Weeks] | None = key(
        "least and most weeks from sowing to setting out", "weeks_to_transplant = [6, 8]", None
    )
    check_below: AirTemperature | None = key(
        "forecast air at night below which tender plants come in", 'check_below = "55 F"', None
    )
    check_below_hardened: AirTemperature | None = key(
        "the same for hardened plants", 'check_below_hardened = "50 F"', None
    )
    harm_below: AirTemperature | None = key(
        "leaf temperature at which tender plants are injured", 'harm_below = "41 F"', None
    )
    harm_below_hardened: AirTemperature | None = key(
        "the same for hardened plants", 'harm_below_hardened = "36 F"', None
    )
    least_air: AirTemperature | None = key(
        "least air temperature by day for an outing, where the rule gives none", 'least_air = "50 F"', None
    )
    heat_shade: AirTemperature | None = key("air above which only shade will do", 'heat_shade = "90 F"', None)
    heat_in: AirTemperature | None = key("air above which they come in", 'heat_in = "95 F"', None)
    sun_after_cold_night: AirTemperature | None = key(
        "air they need before direct sun, after a cold night outside", 'sun_after_cold_night = "59 F"', None
    )
    heavy_rain: RainRate | None = key("rain that sends them under a roof", 'heavy_rain = "5 mm/h"', None)


# --- the rest --------------------------------------------------------------------------------------


class ForecastTable(Table):
    """[forecast]: the sources in order of trust, and how to reach them."""

    sources: list[Text] = key("sources in order of trust", 'sources = ["open-meteo"]', [])
    contact: Text | None = key("an address that tells the source who asks", 'contact = "grower@example.org"', None)
    exact_place: Flag = key("whether full coordinates are sent, not two decimals", "exact_place = true", False)
    base_url: dict[str, Annotated[str, BeforeValidator(values.web_address)]] = key(
        "a stand-in server for a source", 'open-meteo = "http://127.0.0.1:8123"', {}
    )


class ClimateTable(Table):
    """[climate]: a climate series of one's own."""

    daily: Text | None = key("a CSV file date,min_c beside the garden file", 'daily = "minima.csv"', None)


class RiskTable(Table):
    """[risk]: the odds the grower accepts."""

    last_frost: Odds = key("accepted odds of a later frost", "last_frost = 0.1", 0.10)
    check: Odds = key("odds at which a night below the check limit brings plants in", "check = 0.5", 0.5)
    harm: Odds = key("odds at which a night that can injure brings plants in", "harm = 0.1", 0.1)
    evening_of_carrying: (
        Annotated[CarryingCost, BeforeValidator(values.choice("cheap", "fair", "dear"))] | None
    ) = key("what an evening of carrying for nothing is to you", 'evening_of_carrying = "cheap"', None)


class RootTable(Table):
    """What stands above the first heading."""

    units: Annotated[UnitSystem, BeforeValidator(values.choice("us", "metric"))] = key(
        "units shown", 'units = "metric"', "metric"
    )


TABLES: dict[str, type[Table]] = {
    "place": PlaceTable,
    "carer": CarerTable,
    "inside": InsideTable,
    "spot": SpotTable,
    "batch": BatchTable,
    "forecast": ForecastTable,
    "climate": ClimateTable,
    "risk": RiskTable,
}
"""Every heading of the file."""

REPEATED = ("spot", "batch")
"""Headings that come as often as needed, each time with a name of its own."""
