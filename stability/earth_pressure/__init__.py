"""Earth pressure on a wall."""

from slipmargin.stability.earth_pressure.check import EarthPressure

__all__ = ["EarthPressure"]
