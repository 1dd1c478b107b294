"""Planar wedge."""

from slipmargin.stability.planar_wedge.check import PlanarWedge

__all__ = ["PlanarWedge"]
