"""Area over which the halves of a shear box still meet after they have moved.

With d the displacement of one half against the other and B the side or diameter, the
overlap is the share F of the initial area:

    square     F = 1 - d / B
    circle     F = (2/π) (acos r - r √(1 - r²)),   r = d / B

the second being the common area of two equal discs, in place of its first term
1 - (4/π) r. Both stresses are divided by F: their ratio stays, the point slides along a
line through the origin. A fitted cohesion rises by 1/F at one displacement, so that leaving
the correction out is on the safe side of it; the test standards take the nominal area.

Sources: Olson and Lai, lecture notes on the direct shear test, Eq. 18.2 and 18.4; the
nominal area is that of ASTM D3080-11, sect. 11, and BS 1377-7:1990, 4.6 (both from memory).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.errors import InputError
from slipmargin.strength.laboratory.specimen import Specimen

__all__ = ["area_factor", "overlap_factor"]


def overlap_factor(
    shape: Literal["square", "circle"], relative_displacement: ArrayLike
) -> NDArray[np.float64]:
    """Share of the initial area that still overlaps [-].

    The relative displacement is that over side or diameter [-], of either sign; any shape. From
    1 on nothing overlaps.
    """
    ratio = np.minimum(np.abs(np.asarray(relative_displacement, dtype=float)), 1.0)
    if shape == "square":
        return np.asarray(1.0 - ratio)
    return np.asarray((2.0 / np.pi) * (np.arccos(ratio) - ratio * np.sqrt(1.0 - ratio**2)))


def area_factor(specimen: Specimen, displacement: ArrayLike) -> NDArray[np.float64]:
    """Share of a specimen's plane that still overlaps [-] after a displacement [mm], any shape.

    Raises
    ------
    InputError
        A displacement that is not finite, or is as large as the box.
    """
    moved = np.asarray(displacement, dtype=float)
    if not np.all(np.abs(moved) < specimen.width):
        worst = moved.flat[int(np.argmax(np.where(np.isnan(moved), np.inf, np.abs(moved))))]
        raise InputError(
            "displacement",
            f"{worst:g} mm",
            f"the area correction needs one for every reading, below the {specimen.width:g} mm "
            "of the box",
        )
    return overlap_factor(specimen.shape, moved / specimen.width)
