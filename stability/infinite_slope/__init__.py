"""Infinite slope."""

from slipmargin.stability.infinite_slope.check import InfiniteSlope, InfiniteSlopeValues

__all__ = ["InfiniteSlope", "InfiniteSlopeValues"]
