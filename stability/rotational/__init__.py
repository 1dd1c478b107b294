"""Rotational slide."""

from slipmargin.stability.rotational.check import Rotational

__all__ = ["Rotational"]
