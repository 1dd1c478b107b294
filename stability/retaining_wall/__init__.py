"""Retaining wall."""

from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import Wall

__all__ = ["RetainingWall", "Wall"]
