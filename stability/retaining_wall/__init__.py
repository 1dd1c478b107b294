"""Retaining wall."""

from slipmargin.stability.retaining_wall.check import RetainingWall

__all__ = ["RetainingWall"]
