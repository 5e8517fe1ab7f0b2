"""Hours of direct sun and moles of light at a spot, step by step: if clear, likely, and at most.

Light is PAR photons on a level leaf. At a spot it is the share of the beam that arrives there, times what comes
from the sun's direction, plus the sky view times what comes from the rest of the sky.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from hardenoff.records import Place, Spot
from hardenoff.sun.geometry import share as share_of_beam
from hardenoff.sun.geometry import sky_view
from hardenoff.sun.position import Floats, Sky, day_span
from hardenoff.sun.position import sky as open_sky
from hardenoff.sun.radiation import ClearHours, clear_hours, clouded_dni, clouded_ghi, ratio, with_radiation

__all__ = [
    "OpenLight",
    "SeenSky",
    "SpotLight",
    "at_spot",
    "clear_day_mol",
    "lamp_mol",
    "open_light",
    "seen_sky",
    "spot_light",
    "with_radiation",
]

SUNSHINE_DNI_W_M2 = 120.0
"""Direct sun begins here: WMO-No. 8, Guide to Instruments and Methods of Observation, chapter 8."""

BEAM_UMOL_J = 1.85
CLEAR_DIFFUSE_UMOL_J = 2.6
OVERCAST_DIFFUSE_UMOL_J = 2.1
"""PAR photons per joule of radiation. Beam: 1.93 in the ASTM G173 direct spectrum, 1.7 to 1.86 through more air.
Blue sky: 2.6 by the spectral model of Bird & Riordan 1986. Overcast: 2.10, Jacovides et al. (Athens)."""

BROKEN_CLOUD = 0.5
"""The cover at which a shaded spot is brighter than under a clear sky."""

MOST_LIGHT = 1.10
"""Margin on the brightest of the three skies (ours): the edge of a cloud beside the sun brightens."""


@dataclass(frozen=True, slots=True, eq=False)
class Photons:
    """PAR on a level leaf in the open, mol/m2 a step: from the sun's direction, and from the rest of the sky."""

    from_sun: Floats
    from_sky: Floats

    def at(self, share: Floats, view: Floats | float) -> Floats:
        """What a spot gets of it, mol/m2 a step."""
        return share * self.from_sun + view * self.from_sky


@dataclass(frozen=True, slots=True, eq=False)
class OpenLight:
    """The light of the open place under three skies; spots differ only in what they let through of it."""

    clear: Photons
    half_cloud: Photons
    likely: Photons
    """NaN where the forecast has no radiation and the sun is up."""
    sunny: npt.NDArray[np.bool_]
    """Clear-sky beam at least 120 W/m2."""
    sunshine: Floats
    """Forecast beam as a share of the clear one, at most 1; NaN unknown."""


@dataclass(frozen=True, slots=True, eq=False)
class SeenSky:
    """What a spot sees of sun and sky, step by step: the same under any forecast."""

    share: Floats
    """Share of the direct beam that arrives, by geometry."""
    view: Floats | float
    """Share of the sky that is seen."""


@dataclass(frozen=True, slots=True, eq=False)
class SpotLight:
    """Sun and light at one spot, one value a step; sums over steps are hours and mol/m2."""

    times: pd.DatetimeIndex
    """Middle of each step, UTC."""
    step_min: float
    share: Floats
    """Share of the direct beam that arrives, by geometry."""
    sun_if_clear_h: Floats
    sun_likely_h: Floats
    """NaN where the sun would shine here and the forecast has no radiation."""
    light_clear_mol: Floats
    light_likely_mol: Floats
    """NaN where the sun is up and the forecast has no radiation."""
    light_most_mol: Floats
    """The brightest of clear sky, forecast and half cloud, plus 10 %."""


def spot_light(spot: Spot, place: Place, sky: Sky, hours: pd.DataFrame | None) -> SpotLight:
    """Sun and light at a spot in each step of `sky`; `hours` is the hourly frame, None for no forecast.

    For several spots under one sky take `open_light` once, for several forecasts `seen_sky` once, and `at_spot`
    for each pair: that is quicker.
    """
    return at_spot(seen_sky(spot, place, sky), sky, open_light(place, sky, hours))


def seen_sky(spot: Spot, place: Place, sky: Sky) -> SeenSky:
    """What a spot sees of sun and sky in each step of `sky`."""
    return SeenSky(share_of_beam(spot, place, sky), _sky_views(spot, place, sky))


def open_light(place: Place, sky: Sky, hours: pd.DataFrame | None) -> OpenLight:
    """The light of the open place in each step, under a clear, a half clouded and the forecast sky.

    Notes
    -----
    An hour's forecast is a mean. Its beam is spread over the hour's steps in the shape of the clear beam, its
    diffuse part in the shape of the clear diffuse one, so that a forecast of clear sky gives the clear sky back.
    """
    cos_z, clear_dni = sky.cos_zenith, sky.dni_clear_w_m2
    half_dni = clouded_dni(clear_dni, BROKEN_CLOUD)
    half_dhi = np.maximum(clouded_ghi(sky.ghi_clear_w_m2, BROKEN_CLOUD) - half_dni * cos_z, 0.0)
    beam, diffuse = _forecast_shares(place, sky, hours)
    return OpenLight(
        clear=_photons(sky, clear_dni, sky.dhi_clear_w_m2, np.ones_like(cos_z)),
        half_cloud=_photons(sky, half_dni, half_dhi, np.full_like(cos_z, 1.0 - BROKEN_CLOUD)),
        likely=_photons(
            sky,
            np.minimum(_where_up(beam, clear_dni), sky.dni_extra_w_m2),
            _where_up(diffuse, sky.dhi_clear_w_m2),
            np.where(clear_dni > 0.0, np.minimum(beam, 1.0), 1.0),
        ),
        sunny=clear_dni >= SUNSHINE_DNI_W_M2,
        sunshine=np.minimum(beam, 1.0),
    )


def at_spot(seen: SeenSky, sky: Sky, light: OpenLight) -> SpotLight:
    """What one spot gets of the open light of the same steps."""
    share, view = seen.share, seen.view
    if_clear = np.where(light.sunny, share, 0.0) * (sky.step_min / 60.0)
    clear, half, likely = (kind.at(share, view) for kind in (light.clear, light.half_cloud, light.likely))
    return SpotLight(
        sky.times,
        sky.step_min,
        share,
        sun_if_clear_h=if_clear,
        sun_likely_h=np.where(if_clear > 0.0, if_clear * light.sunshine, 0.0),
        light_clear_mol=clear,
        light_likely_mol=likely,
        light_most_mol=MOST_LIGHT * np.fmax(np.maximum(clear, half), likely),
    )


def clear_day_mol(spot: Spot, place: Place, on: date) -> float:
    """Light of a cloudless local date at a spot. [mol/m2]"""
    return float(spot_light(spot, place, open_sky(place, *day_span(place, on)), None).light_clear_mol.sum())


def lamp_mol(ppfd: float, hours: float) -> float:
    """Daily light of a lamp: umol/m2/s over so many hours. [mol/m2]"""
    return ppfd * hours * 3600.0 / 1e6


def _photons(sky: Sky, dni: Floats, dhi: Floats, clear_share: Floats) -> Photons:
    """PAR of beam and diffuse light [W/m2]; the bright ring round the sun comes from the sun's direction.

    Its share of the diffuse light is the anisotropy index DNI / extraterrestrial (Hay & Davies 1980).
    """
    per_joule = OVERCAST_DIFFUSE_UMOL_J + (CLEAR_DIFFUSE_UMOL_J - OVERCAST_DIFFUSE_UMOL_J) * clear_share
    seconds = 60.0 * sky.step_min
    ring = dni / sky.dni_extra_w_m2
    mol = seconds / 1e6
    return Photons(
        from_sun=(BEAM_UMOL_J * dni * sky.cos_zenith + per_joule * dhi * ring) * mol,
        from_sky=per_joule * dhi * (1.0 - ring) * mol,
    )


def _forecast_shares(place: Place, sky: Sky, hours: pd.DataFrame | None) -> tuple[Floats, Floats]:
    """The forecast's beam and diffuse light in each step, as shares of the clear ones; NaN unknown."""
    if hours is None or hours.empty:
        unknown = np.full(len(sky.times), np.nan)
        return unknown, unknown
    clear: ClearHours = clear_hours(place, sky)
    given = hours[["dni_w_m2", "dhi_w_m2"]].reindex(clear.starts)
    step = clear.starts.get_indexer(sky.times.floor("h"))
    beam = ratio(given["dni_w_m2"].to_numpy(dtype=float), clear.dni_w_m2)
    diffuse = ratio(given["dhi_w_m2"].to_numpy(dtype=float), clear.dhi_w_m2)
    return beam[step], diffuse[step]


def _where_up(share: Floats, clear: Floats) -> Floats:
    """`share x clear`, and 0 where the clear sky is dark: darkness needs no forecast."""
    return np.where(clear > 0.0, share * clear, 0.0)


def _sky_views(spot: Spot, place: Place, sky: Sky) -> Floats | float:
    """Sky view in each step: it changes from one local date to the next only where there are trees."""
    if not spot.trees:
        return sky_view(spot)
    codes, dates = pd.factorize(sky.times.tz_convert(place.tz).tz_localize(None).normalize())
    return np.array([sky_view(spot, day.date()) for day in dates])[codes]
