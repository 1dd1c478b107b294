"""Dice for the strategies: rare things stay rare.

The search draws the ends of a range far more often than what lies between, so a branch taken
below 4 of 100 would be taken in one case of ten. Here the ends are scattered, and zero, to
which the search shrinks, always means the common branch.
"""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

__all__ = ["fraction", "percent", "rare", "several"]

_SCATTERED = st.integers(0, 65535).map(lambda n: n * 40503 % 65536)

percent = _SCATTERED.map(lambda n: n * 100 // 65536)
fraction = st.integers(0, 1000).map(lambda n: n / 1000.0)


def rare(draw: Any, hundredths: int) -> bool:
    return bool(draw(percent) >= 100 - hundredths)


def several(draw: Any, common: int, numbers: list[int]) -> int:
    """Zero, or one of some numbers; ``common`` times out of itself and their count it is zero."""
    if not rare(draw, 100 * len(numbers) // (common + len(numbers))):
        return 0
    return int(draw(st.sampled_from(numbers)))
