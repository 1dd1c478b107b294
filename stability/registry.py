"""The kinds of check: the one place that knows them all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module

from slipmargin.stability.check import Check

__all__ = ["KINDS", "kind_of"]

_HOMES = {
    "infinite_slope": "InfiniteSlope",
    "planar_wedge": "PlanarWedge",
    "rotational": "Rotational",
    "layered_slope": "LayeredSlope",
    "earth_pressure": "EarthPressure",
    "retaining_wall": "RetainingWall",
}


class _Kinds(Mapping[str, type[Check]]):
    """Checks by name; each module is loaded when its check is first asked for."""

    def __getitem__(self, kind: str) -> type[Check]:
        name = _HOMES[kind]
        found: type[Check] = getattr(import_module(f"slipmargin.stability.{kind}"), name)
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(_HOMES)

    def __len__(self) -> int:
        return len(_HOMES)


KINDS: Mapping[str, type[Check]] = _Kinds()
"""Check by the name a scenario calls it, which is also the name of its module."""


def kind_of(check: Check) -> str | None:
    """What a scenario calls a check; ``None`` for one that it cannot name."""
    named = (kind for kind, name in _HOMES.items() if name == type(check).__name__)
    return next((kind for kind in named if KINDS[kind] is type(check)), None)
