"""A uniform load behind the crest, from a setback over a width.

The strip starts at a distance behind the crest and ends after its width, or never. On a block
only the part of it counts that stands on the block.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from slipmargin.stability.fields import Amount
from slipmargin.strength import Numeric

__all__ = ["SurchargeStripInputs", "loaded_between", "strip_edges"]


@dataclass(frozen=True, kw_only=True)
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
    """Near and far edge of a load [m]; the far one ``inf`` where the load has no end.

    Parameters
    ----------
    crest_x, setback, width
        Place of the crest; from there to the load; its width, ``None`` for no end [m].
    """
    near = crest_x + setback
    return near, np.inf if width is None else near + width


def loaded_between(near: Numeric, far: Numeric, start: Numeric, end: Numeric) -> Numeric:
    """Plan length of a load that lies between two places [m]; zero where none does.

    Parameters
    ----------
    near, far
        Edges of the load [m]; ``far`` may be ``inf``.
    start, end
        The two places [m], ``start`` no further than ``end``.
    """
    upto = np.where(np.less(far, end), far, end)
    since = np.where(np.greater(near, start), near, start)
    loaded: Numeric = np.maximum(upto - since, 0.0)
    return loaded
