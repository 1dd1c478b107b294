"""Ground and strength in, factors of safety out."""

from stability.earth_pressure import EarthPressure
from stability.infinite_slope import InfiniteSlope
from stability.planar_wedge import PlanarWedge
from stability.registry import KINDS
from stability.result import Check, CheckResult
from stability.retaining_wall import RetainingWall
from stability.rotational import Rotational
from stability.soil import Soil

__all__ = [
    "KINDS",
    "Check",
    "CheckResult",
    "EarthPressure",
    "InfiniteSlope",
    "PlanarWedge",
    "RetainingWall",
    "Rotational",
    "Soil",
]
