"""READERS: every provider by its key, found by module name and imported only when asked for."""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator, Mapping
from importlib import import_module

from hardenoff.forecast.reader import Reader

_PACKAGE = "hardenoff.forecast"


class Readers(Mapping[str, Reader]):
    """Maps `met-norway` to the `READER` of `hardenoff.forecast.met_norway`; a module without one is no reader."""

    def __getitem__(self, key: str) -> Reader:
        module = key.replace("-", "_")
        if key != key.lower() or "_" in key or module not in self._modules():
            raise KeyError(key)
        reader: Reader | None = getattr(import_module(f"{_PACKAGE}.{module}"), "READER", None)
        if reader is None:
            raise KeyError(key)
        return reader

    def __iter__(self) -> Iterator[str]:
        keys = (module.replace("_", "-") for module in self._modules())
        return (key for key in keys if key in self)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    @staticmethod
    def _modules() -> tuple[str, ...]:
        return tuple(module.name for module in pkgutil.iter_modules(import_module(_PACKAGE).__path__))


READERS: Mapping[str, Reader] = Readers()
