"""What the program costs, measured as ratios within one run: `python tests/benchmarks.py [PART ...]`, on Linux.

Prints a table, and exits with 1 if a stated ratio is missed. Times are the processor's, the best of several, one
thing measured in turn with what it is held against, so that other work on the machine weighs little. Parts:
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

import numpy as np
import pandas as pd
from loopback import Loopback, Scripted
from provider_bodies import open_meteo
from pvlib import solarposition
from weather import FIRST, HOME, OPEN, PLACE, SPOTS, Weather, garden, hand_state, plan

from hardenoff.records import Batch, Carer, Garden, Inside, Lamp, Roof, ShelterArc, Spot
from hardenoff.schedule.members import member_forecasts, plan_members
from hardenoff.schedule.plans import plan_all
from hardenoff.sun.position import day_span
from hardenoff.sun.windows import sun_days
from hardenoff.tables import load_crops, load_rules
from hardenoff.trial.garden import trial_garden
from hardenoff.trial.play import Asked, play
from hardenoff.trial.weather import read_weather

TIMES = 5
SAVED = Path(__file__).parents[1] / "fixtures" / "forecasts" / "open-meteo" / "normal.json"
GARDEN = """
[place]
name = "Quarry Lane"
latitude = 42.94
longitude = -77.33
timezone = "America/New_York"
[[spot]]
name = "carport"
roof = { above = "2.1 m", front = "1.5 m", back = "0.6 m", left = "1.8 m", right = "1.8 m", open_to = 100 }
shelter = 0.4
[[spot]]
name = "steps"
skyline = [[0, 10], [60, 10], [61, 5], [135, 5], [136, 85], [359, 85]]
shelter = 0.6
[[spot]]
name = "long bed"
skyline = [[90, 12], [180, 5], [270, 20]]
[[spot]]
name = "long bed, cloth"
like = "long bed"
shade = [0.5]
[[batch]]
name = "peppers"
crop = "sweet pepper"
sown = 2027-02-20
plant_out_at = "long bed"
"""


@dataclass(frozen=True, slots=True)
class Row:
    """One thing measured; `most` is what is stated of it, and None where nothing is."""

    what: str
    against: str
    measured: float
    most: float | None = None
    detail: str = ""

    @property
    def holds(self) -> bool:
        return self.most is None or self.measured <= self.most


def in_turn(*works: Callable[[], float], times: int = TIMES) -> list[float]:
    """The least seconds that each of them gives, one after the other, over and over."""
    taken = [[work() for work in works] for _ in range(times)]
    return [min(column) for column in zip(*taken, strict=True)]


def seconds(work: Callable[[], object]) -> float:
    """Of the processor, for a call."""
    begin = process_time()
    work()
    return process_time() - begin


# --- the command line --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Process:
    """A program in a process of its own."""

    words: tuple[str, ...]
    folder: Path

    def __call__(self) -> float:
        """Run it; seconds of the processor."""
        running = self._begun(*self.words, stdout=subprocess.DEVNULL)
        _, status, usage = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
        assert running.returncode == 0, self.words
        return usage.ru_utime + usage.ru_stime

    def peak_mb(self) -> float:
        """Run it as a module; the most memory it ever had, as Linux tells it."""
        running = self._begun("-c", PEAK, *self.words[2:], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        return int(running.communicate()[1].split()[-1]) / 1024

    def _begun(self, *words: str, **how: int) -> subprocess.Popen[bytes]:
        kept = {f"HARDENOFF_{name}_DIR": str(self.folder / name.lower()) for name in ("CACHE", "STATE")}
        return subprocess.Popen([sys.executable, *words], cwd=self.folder, env={**os.environ, **kept}, **how)


PEAK = """import atexit, re, runpy, sys
peak = lambda: re.search(r"VmHWM:\\s+(\\d+)", open("/proc/self/status").read())[1]
atexit.register(lambda: sys.stderr.write(f"\\n{peak()}"))
runpy.run_module("hardenoff", run_name="__main__", alter_sys=True)
"""
"""What the parent had counts as the child's in the times that the system keeps; here it does not."""


@contextmanager
def at_home() -> Iterator[Callable[..., Process]]:
    """A garden in a folder of its own, and the programs that are run there."""
    with TemporaryDirectory() as folder, Loopback() as server:
        server.play("/v1/forecast", Scripted(open_meteo(datetime.now(UTC), latitude=42.94, longitude=-77.33)))
        stand_in = f'[forecast.base_url]\nopen-meteo = "{server.url}"\n'
        Path(folder, "garden.toml").write_text(GARDEN + stand_in, "utf-8")
        yield lambda *words: Process(words, Path(folder))


def commands() -> Iterator[Row]:
    """What is typed: --help, today from a saved forecast, today again; their memory."""
    with at_home() as process:
        pandas, pvlib = process("-c", "import pandas"), process("-c", "import pvlib, pandas")
        usage, again = process("-m", "hardenoff", "--help"), process("-m", "hardenoff", "today")
        saved = process("-m", "hardenoff", "today", "--forecast-file", str(SAVED), "--now", "2027-04-20T06:40")
        again()  # the run that is kept
        kept = _runs(again.folder)
        bare, heavy, short, warm, cold = in_turn(pandas, pvlib, usage, again, saved)
        memory = again.peak_mb()
        if _runs(again.folder) != kept:
            raise SystemExit("a full hour began, or the program was changed, while it was measured: run it again")
        yield Row("--help", "import pandas", short / bare, 0.8, f"{short:.2f} s to {bare:.2f} s")
        yield Row("today, nothing changed", "import pandas", warm / bare, 1.0, f"{warm:.2f} s to {bare:.2f} s")
        yield Row(
            "today, saved forecast", "import pvlib, pandas", cold / heavy, 2.0, f"{cold:.2f} s to {heavy:.2f} s"
        )
        yield Row("today, nothing changed", "MB at most", memory)
        yield Row("today, saved forecast", "MB at most", saved.peak_mb(), 300.0)


def _runs(folder: Path) -> list[tuple[str, int]]:
    """The kept runs and when they were written."""
    return [(path.name, path.stat().st_mtime_ns) for path in (folder / "state" / "runs").iterdir()]


# --- the sun -----------------------------------------------------------------------------------------


def sun() -> Iterator[Row]:
    """Direct-sun windows of a season at one spot against the sun's positions at the same steps."""
    days = [date(2027, 3, 1) + timedelta(days=n) for n in range(245)]
    start, end = day_span(PLACE, days[0])[0], day_span(PLACE, days[-1])[1]
    steps = pd.date_range(start, end, freq="5min", inclusive="left") + pd.Timedelta(minutes=2.5)
    windows, bare = in_turn(
        lambda: seconds(lambda: sun_days(SPOTS[0], PLACE, days, 5)),
        lambda: seconds(lambda: solarposition.get_solarposition(steps, PLACE.latitude, PLACE.longitude)),
    )
    detail = f"{windows:.2f} s to {bare:.2f} s, {len(steps)} steps"
    yield Row("sun windows, a season", "pvlib positions", windows / bare, 1.5, detail)


# --- the plan ----------------------------------------------------------------------------------------

SIX = (
    *SPOTS,
    Spot("open bed, cloth", shade=0.5, like="open bed"),
    Spot("lean-to", roof=Roof(2.0, 1.0, 1.0, 2.0, 2.0, 150.0), shelter=(ShelterArc(0.0, 360.0, 0.4),)),
    Spot("court", skyline=((0.0, 50.0), (180.0, 30.0)), shelter=(ShelterArc(0.0, 360.0, 0.25),)),
)
DAYS = 16


def crowd(count: int, spots: Sequence[Spot] = SIX, **batch: object) -> Garden:
    """Batches of one tray, four crops in turn, someone at home."""
    crops = [load_crops()[name] for name in ("tomato", "sweet_pepper", "cabbage", "basil")]
    batches = (
        Batch(f"batch {n}", crop, load_rules()[crop.rule], lamp=Lamp(200.0, 16.0), plant_out_at=spots[-1].name)
        for n, crop in enumerate(crops[n % 4] for n in range(count))
    )
    begun = {"start": FIRST, **batch}
    return Garden(PLACE, Carer(week=HOME), Inside(), tuple(spots), tuple(replace(one, **begun) for one in batches))


def fold(of: Garden, days: int) -> Callable[[], float]:
    """The plan alone: all batches over so many days."""
    planner, _ = plan_all(of, Weather(days=DAYS).forecast(), FIRST)
    return lambda: seconds(lambda: planner.plan(of.batches, FIRST + timedelta(days=days - 1)))


def growth() -> Iterator[Row]:
    """Exponents of growth, by least squares on logarithms: 1 is linear."""
    ready = hand_state(air=12.0, sun=12.0, cold=2.0, light_mol=40.0)
    yield _exponent("batches", (1, 2, 4, 8, 16, 32, 64), lambda n: fold(crowd(n, SPOTS), DAYS))
    yield _exponent("spots", range(1, 7), lambda n: fold(crowd(8, SIX[-n:]), DAYS))
    # days alike, since a day of an early ramp is another kind of day than one with a night outside
    yield _exponent("days", (4, 6, 8, 12, 16), lambda n: fold(crowd(8, SPOTS, start=None, state=ready), n))


def _exponent(name: str, sizes: Sequence[int], work: Callable[[int], Callable[[], float]]) -> Row:
    taken = in_turn(*(work(size) for size in sizes), times=2)
    exponent = float(np.polyfit(np.log(sizes), np.log(taken), 1)[0])
    detail = ", ".join(f"{size}: {each:.3f}" for size, each in zip(sizes, taken, strict=True)) + " s"
    return Row(f"the plan by {name}", "exponent", exponent, 1.2, detail)


def hundred() -> Iterator[Row]:
    """A hundred batches at six spots against one batch at one spot, the whole planning call."""
    forecast = Weather(days=DAYS).forecast()
    one, many = garden(start=FIRST, spots=(OPEN,)), crowd(100)
    plan(one, forecast)
    alone, together = in_turn(
        lambda: seconds(lambda: plan(one, forecast)), lambda: seconds(lambda: plan(many, forecast)), times=2
    )
    detail = f"{together:.1f} s to {alone:.2f} s"
    yield Row("a hundred batches, six spots", "one batch, one spot", together / alone, 20.0, detail)


def members() -> Iterator[Row]:
    """51 members of an ensemble planned in one call, against one plan of the same garden."""
    forecast = Weather(days=DAYS).forecast()
    lead_days = np.arange(len(forecast.hours))[:, None] / 24.0
    apart = np.random.default_rng(51).normal(size=51) * np.sqrt(lead_days)
    air_c = forecast.hours[["air_temperature_c"]].to_numpy() + apart
    forecasts = member_forecasts(replace(forecast, members_c=pd.DataFrame(air_c, index=forecast.hours.index)))
    for batches, most in ((1, 10.0), (4, None)):
        of = crowd(batches, SPOTS)
        all_of_them, one = in_turn(
            lambda of=of: seconds(lambda: plan_members(of, forecasts, FIRST)),
            lambda of=of: seconds(lambda: plan_all(of, forecast, FIRST)),
            times=3,
        )
        detail = f"{all_of_them:.2f} s to {one:.2f} s"
        yield Row(f"51 members, batches: {batches}", "one plan", all_of_them / one, most, detail)


# --- past weather ------------------------------------------------------------------------------------


def trial() -> Iterator[Row]:
    """Days that the players of a trial live in a second."""
    name = "723170TYA.CSV"
    weather = read_weather((files("pvlib") / "data" / name).read_bytes(), name)
    year = weather.truth.hours.index[len(weather.truth.hours) // 2].year
    starts = tuple(date(year, 4, 1) + timedelta(days=n) for n in range(0, 60, 12))
    asked = Asked({"home": trial_garden(weather.place, "tomato", "home")}, starts, (1001, 1002))
    begin = process_time()
    runs = play(weather, asked).runs
    days, taken = sum(run.days or 60 for run in runs), process_time() - begin
    yield Row("trial", "days a second", days / taken, None, f"{days} days of {len(runs)} runs in {taken:.1f} s")


# --- all of it ---------------------------------------------------------------------------------------

PARTS: dict[str, Callable[[], Iterator[Row]]] = {
    part.__name__: part for part in (commands, sun, growth, hundred, members, trial)
}


def main(names: Sequence[str]) -> int:
    """Measure these parts, or all of them; 1 if a stated ratio is missed."""
    if unknown := set(names) - PARTS.keys():
        sys.stderr.write(f"no part {', '.join(sorted(unknown))}: one of {', '.join(PARTS)}\n")
        return 2
    missed = 0
    print(f"{'what':30} {'against':22} {'measured':>9} {'at most':>8}")
    for name in names or PARTS:
        for row in PARTS[name]():
            most = "" if row.most is None else f"{row.most:g}"
            mark = "" if row.holds else "  MISSED"
            print(f"{row.what:30} {row.against:22} {row.measured:9.2f} {most:>8}{mark}  {row.detail}", flush=True)
            missed += not row.holds
    return int(missed > 0)


__doc__ = (__doc__ or "") + "\n".join(f"    {name:10} {part.__doc__}" for name, part in PARTS.items()) + "\n"

if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv):
        print(__doc__)
        sys.exit(0)
    sys.exit(main(sys.argv[1:]))
