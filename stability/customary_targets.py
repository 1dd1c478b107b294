"""Least factors of safety that are customary, without a code that asks for them."""

from __future__ import annotations

from dataclasses import dataclass

from stability.wall_notices import CUSTOMARY, CUSTOMARY_SOURCE
from strength import Numeric

__all__ = ["CUSTOMARY_TARGETS", "Target"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A least factor of safety [-], where it comes from, and whether it is only customary."""

    value: Numeric
    source: str
    customary: bool = False


CUSTOMARY_TARGETS: dict[str, Target] = {
    "slope": Target(
        value=1.5,
        source="USACE EM 1110-2-1902 (2003), Table 3-1, long term with steady seepage "
        "(from memory)",
        customary=True,
    ),
} | {
    name: Target(value=least, source=CUSTOMARY_SOURCE, customary=True)
    for name, least in CUSTOMARY.items()
}
"""Customary least factors of safety, without shaking, each with its source."""
