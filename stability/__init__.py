"""Ground and strength in, factors of safety out."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from stability.registry import KINDS
from stability.result import Check, CheckResult
from stability.soil import Soil

if TYPE_CHECKING:
    from stability.earth_pressure import EarthPressure
    from stability.infinite_slope import InfiniteSlope
    from stability.planar_wedge import PlanarWedge
    from stability.retaining_wall import RetainingWall
    from stability.rotational import Rotational

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

_LATE = {
    "EarthPressure": "earth_pressure",
    "InfiniteSlope": "infinite_slope",
    "PlanarWedge": "planar_wedge",
    "RetainingWall": "retaining_wall",
    "Rotational": "rotational",
}


def __getattr__(name: str) -> Any:
    """Load a check when it is first asked for, so that the program starts quickly."""
    if name in _LATE:
        return getattr(import_module(f"stability.{_LATE[name]}"), name)
    raise AttributeError(f"module 'stability' has no attribute {name!r}")
