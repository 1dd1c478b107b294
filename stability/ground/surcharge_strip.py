"""A uniform load behind the crest, from a setback over a width; the part of it counts that stands
on what slides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from slipmargin.stability.fields import Amount
from slipmargin.strength import Numeric

__all__ = ["SurchargeStripInputs", "loaded_between", "strip_edges"]


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class SurchargeStripInputs:
    """A load and where it stands; scalars or arrays that broadcast."""

    __slots__ = ()

    surcharge: Annotated[
        Numeric, Amount("stress", "q", "Load on plan area behind the crest.", low=0.0)
    ] = 0.0
    surcharge_setback: Annotated[
        Numeric, Amount("length", "a_q", "From the crest to the near edge of the load.", low=0.0)
    ] = 0.0
    surcharge_width: Annotated[
        Numeric | None,
        Amount("length", "w_q", "Width of the load; none is without end.", above=0.0),
    ] = None


def strip_edges(
    crest_x: Numeric, setback: Numeric, width: Numeric | None
) -> tuple[Numeric, Numeric]:
    """Near and far edge of a load behind the crest [m]; the far one ``inf`` where it has no end."""
    near = crest_x + setback
    return near, np.inf if width is None else near + width


def loaded_between(near: Numeric, far: Numeric, start: Numeric, end: Numeric) -> Numeric:
    """Plan length of a load from ``near`` to ``far`` that lies between two places [m]; ``far``
    may be ``inf``.
    """
    upto = np.where(np.less(far, end), far, end)
    since = np.where(np.greater(near, start), near, start)
    loaded: Numeric = np.maximum(upto - since, 0.0)
    return loaded
