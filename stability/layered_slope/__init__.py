"""Limit equilibrium of a layered slope on slip circles: Spencer, with Bishop beside it."""

from slipmargin.stability.layered_slope.check import LayeredSlope, SlipCircle, SlopeLayer

__all__ = ["LayeredSlope", "SlipCircle", "SlopeLayer"]
