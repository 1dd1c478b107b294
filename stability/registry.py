"""The kinds of check: the one place that knows them all."""

from __future__ import annotations

from stability.infinite_slope import InfiniteSlope

__all__ = ["KINDS"]

KINDS: dict[str, type] = {
    "infinite_slope": InfiniteSlope,
}
"""Check by the name a scenario calls it."""
