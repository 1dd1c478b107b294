"""The kinds of check: the one place that knows them all."""

from __future__ import annotations

from stability.earth_pressure import EarthPressure
from stability.infinite_slope import InfiniteSlope
from stability.planar_wedge import PlanarWedge
from stability.result import Check
from stability.retaining_wall import RetainingWall
from stability.rotational import Rotational

__all__ = ["KINDS"]

KINDS: dict[str, type[Check]] = {
    "infinite_slope": InfiniteSlope,
    "planar_wedge": PlanarWedge,
    "rotational": Rotational,
    "earth_pressure": EarthPressure,
    "retaining_wall": RetainingWall,
}
"""Check by the name a scenario calls it."""
