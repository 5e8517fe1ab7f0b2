"""The forecast with its seeded error: how large, how it hangs together, and what stays as it is."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from weather import FIRST, PLACE
from weather import Weather as Days

from hardenoff.sun.light import with_radiation
from hardenoff.sun.position import sky
from hardenoff.sun.radiation import clear_hours
from hardenoff.tables import low_spread_c
from hardenoff.trial import error

SEEDS = range(400)
ON = FIRST


@pytest.fixture(scope="module")
def truth():
    return with_radiation(Days(days=5, cloud=0.3).forecast(), PLACE)


@pytest.fixture(scope="module")
def clear(truth):
    index = truth.hours.index
    end = (index[-1] + (index[1] - index[0])).to_pydatetime()
    return clear_hours(PLACE, sky(PLACE, index[0].to_pydatetime(), end))


@pytest.fixture(scope="module")
def made(truth, clear):
    """Forecasts of one morning, one a seed."""
    return [error.morning_forecast(truth, clear, PLACE, ON, seed).hours for seed in SEEDS]


def off(made, truth, name):
    """Errors [seed, hour]."""
    return np.stack([frame[name].to_numpy() for frame in made]) - truth.hours[name].to_numpy()


def rows_ahead(truth, hours):
    return truth.hours.index.get_loc(error.issued_at(PLACE, ON)) + hours


@pytest.mark.parametrize(("lead_h", "sd_c"), [(0, 1.2), (24, low_spread_c(1.0)), (48, low_spread_c(2.0))])
def test_temperature_error_grows_as_stated(made, truth, lead_h, sd_c):
    """400 seeds: the standard deviation is known to 3.5 % (1 / sqrt(2 n)); allowed is three times that."""
    errors = off(made, truth, "air_temperature_c")[:, rows_ahead(truth, lead_h)]
    assert errors.std() == pytest.approx(sd_c, rel=0.11)
    assert abs(errors.mean()) < 3.0 * sd_c / np.sqrt(len(SEEDS))


def test_between_the_issue_and_the_coming_night_it_grows_in_a_line():
    """Halfway at twelve hours."""
    assert error.air_sd_c(np.array([12.0]))[0] == pytest.approx((1.2 + low_spread_c(1.0)) / 2.0)


def test_what_is_over_is_known(made, truth):
    """Hours before the issue are those that were."""
    before = slice(0, rows_ahead(truth, 0))
    for name in ("air_temperature_c", "wind_gust_m_s", "cloud_cover_frac", "dni_w_m2"):
        assert off(made, truth, name)[:, before] == pytest.approx(0.0, abs=1e-9)


def test_temperature_errors_hang_together(made, truth):
    """1/e of the correlation is left after a day."""
    errors = off(made, truth, "air_temperature_c")
    one, other = errors[:, rows_ahead(truth, 12)], errors[:, rows_ahead(truth, 36)]
    assert np.corrcoef(one, other)[0, 1] == pytest.approx(np.exp(-1.0), abs=0.15)


def test_wind_is_off_by_a_factor(made, truth):
    """Logarithms have a standard deviation of 0.25 at the issue; gusts and mean wind go together."""
    row = rows_ahead(truth, 0)
    factor = np.stack([frame["wind_gust_m_s"].to_numpy() for frame in made])[:, row] / 3.0
    assert np.log(factor).std() == pytest.approx(0.25, rel=0.11)
    mean = np.stack([frame["wind_speed_m_s"].to_numpy() for frame in made])[:, row] / 1.5
    assert mean == pytest.approx(factor)


def test_the_sky_stays_a_sky(made, clear):
    """Cloud within 0 and 1, light never negative, the beam never above a clear one, and the parts add up."""
    for frame in made[:50]:
        assert frame["cloud_cover_frac"].between(0.0, 1.0).all()
        assert (frame[["ghi_w_m2", "dni_w_m2", "dhi_w_m2"]] >= 0.0).all(axis=None)
        dni = frame["dni_w_m2"].to_numpy()
        assert (dni <= clear.dni_w_m2 + 1e-6).all()
        level = np.divide(
            clear.beam_level_w_m2, clear.dni_w_m2, out=np.zeros_like(dni), where=clear.dni_w_m2 > 0.0
        )
        assert frame["ghi_w_m2"].to_numpy() == pytest.approx(dni * level + frame["dhi_w_m2"].to_numpy())


def test_a_clearer_sky_has_more_beam_and_less_cloud(made, truth):
    """Cloud and beam err together."""
    noon = rows_ahead(truth, 8)
    cloud = off(made, truth, "cloud_cover_frac")[:, noon]
    beam = off(made, truth, "dni_w_m2")[:, noon]
    assert np.corrcoef(cloud, beam)[0, 1] < -0.9


def test_the_same_seed_gives_the_same_forecast(truth, clear):
    """And another date or seed another one."""
    frame = error.morning_forecast(truth, clear, PLACE, ON, 7).hours
    assert frame.equals(error.morning_forecast(truth, clear, PLACE, ON, 7).hours)
    assert not frame.equals(error.morning_forecast(truth, clear, PLACE, ON, 8).hours)
    later = error.morning_forecast(truth, clear, PLACE, date(2027, 5, 4), 7).hours
    assert not frame.equals(later)


def test_a_missing_hour_stays_missing(truth, clear):
    """An error makes no hours."""
    holed = truth.hours.copy()
    holed.iloc[40] = np.nan
    frame = error.morning_forecast(type(truth)(holed, truth.block_lows, truth.origin), clear, PLACE, ON, 1).hours
    assert frame.iloc[40][["air_temperature_c", "wind_gust_m_s", "dni_w_m2"]].isna().all()
