"""Ground and strength in, factors of safety out."""

from stability.infinite_slope import InfiniteSlope
from stability.registry import KINDS
from stability.result import Check, CheckResult
from stability.soil import Soil

__all__ = ["KINDS", "Check", "CheckResult", "InfiniteSlope", "Soil"]
