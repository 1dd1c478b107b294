"""Ground and strength in, factors of safety out."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from slipmargin.stability.check import Check, CheckResult
from slipmargin.stability.registry import KINDS
from slipmargin.stability.soil import Soil

if TYPE_CHECKING:
    from slipmargin.stability.earth_pressure.check import EarthPressure
    from slipmargin.stability.infinite_slope.check import InfiniteSlope
    from slipmargin.stability.layered_slope.check import LayeredSlope
    from slipmargin.stability.planar_wedge.check import PlanarWedge
    from slipmargin.stability.retaining_wall.check import RetainingWall
    from slipmargin.stability.retaining_wall.section import Wall
    from slipmargin.stability.rotational.check import Rotational
    from slipmargin.stability.uncertainty.replaced import with_strength
    from slipmargin.stability.uncertainty.sweep import Sweep, break_even, sweep

__all__ = [
    "KINDS",
    "Check",
    "CheckResult",
    "EarthPressure",
    "InfiniteSlope",
    "LayeredSlope",
    "PlanarWedge",
    "RetainingWall",
    "Rotational",
    "Soil",
    "Sweep",
    "Wall",
    "break_even",
    "sweep",
    "with_strength",
]

_LATE = {
    "EarthPressure": "earth_pressure",
    "InfiniteSlope": "infinite_slope",
    "LayeredSlope": "layered_slope",
    "PlanarWedge": "planar_wedge",
    "RetainingWall": "retaining_wall",
    "Rotational": "rotational",
    "Sweep": "uncertainty.sweep",
    "Wall": "retaining_wall",
    "break_even": "uncertainty.sweep",
    "sweep": "uncertainty.sweep",
    "with_strength": "uncertainty.replaced",
}


def __getattr__(name: str) -> Any:
    """Load a check, or a search, when it is first asked for: the program starts quickly."""
    if name in _LATE:
        return getattr(import_module(f"slipmargin.stability.{_LATE[name]}"), name)
    raise AttributeError(f"module 'slipmargin.stability' has no attribute {name!r}")
