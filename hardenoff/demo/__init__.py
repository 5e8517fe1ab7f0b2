"""A garden and a saved forecast that come with the package, and the morning they are for. All invented."""

from __future__ import annotations

from datetime import datetime
from importlib import resources

DEMO_NOW = datetime.fromisoformat("2027-05-13T06:20:00-04:00")
"""A Thursday before work; five days later comes a night near freezing."""


def demo_text() -> str:
    """The garden file, as a grower would write it."""
    return _packaged("garden.toml").decode()


def demo_forecast_bytes() -> bytes:
    """A saved forecast: a bundle that holds the provider's reply, made by fixtures/make_demo.py."""
    return _packaged("forecast.json")


def _packaged(name: str) -> bytes:
    return resources.files(__name__).joinpath(name).read_bytes()
