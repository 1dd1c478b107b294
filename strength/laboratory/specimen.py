"""The specimen in the shear box: its plane, what rests on it, and what the gauges add.

Nominal stresses use the initial area. 1 N/mm² = 1000 kPa. Of a shear force as read, the
gauge's own reading at no load and the friction of the empty apparatus are not the soil's:

    σ = (N + N_added) / A,   τ = (S - S_zero - S_friction) / A

The friction is that of a run without soil, and is taken as the same at every normal load.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.errors import MISSING, InputError, need_number, need_one_of
from slipmargin.strength.notice import Notice

__all__ = ["LoadScale", "Specimen", "load_scale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Specimen:
    """A specimen.

    Parameters
    ----------
    shape
        ``square`` or ``circle``.
    width
        Side or diameter of the shear plane [mm].
    height
        Height [mm], for the record.
    added_normal_force
        Weight of cap, hanger and soil above the plane [N], added to every normal force read.
    apparatus_friction
        Shear force that the apparatus takes without soil [N], subtracted from every shear
        force read.
    zero_reading
        What the shear gauge reads at no load [N], of either sign, subtracted likewise.

    Raises
    ------
    InputError
        A shape that is not known, what is no number, a width or height not above zero, a
        negative force.
    """

    shape: Literal["square", "circle"]
    width: float
    height: float | None = None
    added_normal_force: float = 0.0
    apparatus_friction: float = 0.0
    zero_reading: float = 0.0

    def __post_init__(self) -> None:
        need_one_of("shape", self.shape, ("square", "circle"))
        name = "width" if self.shape == "square" else "diameter"
        need_number(name, self.width, "mm", above=0.0)
        if self.height is not None:
            need_number("height", self.height, "mm", above=0.0)
        need_number("added_normal_force", self.added_normal_force, "N", least=0.0)
        need_number("apparatus_friction", self.apparatus_friction, "N", least=0.0)
        need_number("zero_reading", self.zero_reading, "N")

    @property
    def area(self) -> float:
        """Initial area of the shear plane [mm²]."""
        return self.width**2 if self.shape == "square" else math.pi * self.width**2 / 4.0

    @property
    def kpa_per_newton(self) -> float:
        """Nominal stress of a unit force on the plane [kPa/N]."""
        return 1000.0 / self.area


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadScale:
    """From loads as read to nominal stresses, or to corrected forces where no area is known.

    A unit reading of shear and of normal load gives ``per_unit`` and ``normal_per_unit``
    [kPa/N], or 1; what is added and subtracted before is in the unit of the readings. ``unit`` is
    that of the result, ``notices`` tell what was corrected.
    """

    per_unit: float
    normal_per_unit: float
    added_normal: float
    subtracted_shear: float
    unit: Literal["kPa", "N"]
    notices: tuple[Notice, ...] = ()

    def normal(self, reading: ArrayLike) -> NDArray[np.float64]:
        """Normal stress [kPa], or force [N], of readings."""
        return (np.asarray(reading, dtype=float) + self.added_normal) * self.normal_per_unit

    def shear(self, reading: ArrayLike) -> NDArray[np.float64]:
        """Shear stress [kPa], or force [N], of readings."""
        return (np.asarray(reading, dtype=float) - self.subtracted_shear) * self.per_unit

    def refuse_negative(self, shear: ArrayLike, where: str) -> None:
        """Refuse shear loads [``unit``] that the corrections brought below zero."""
        lowest = float(np.nanmin(np.append(np.asarray(shear, dtype=float), np.inf)))
        if self.subtracted_shear > 0.0 and lowest < 0.0:
            raise InputError(
                "apparatus_friction and zero_reading",
                f"{self.subtracted_shear:g} N",
                f"more than {where} reads in all, {lowest / self.per_unit:.4g} N being left; "
                "look at the no-soil reading and its unit",
            )


def load_scale(
    unit: Literal["kPa", "N"],
    specimen: Specimen | None,
    normal_unit: Literal["kPa", "N"] | None = None,
) -> LoadScale:
    """How readings in a unit become stresses on a specimen; without one forces stay forces.

    ``normal_unit`` is that of the normal loads, where it is another. Refused are forces to add
    or subtract where the readings are already stresses, and a normal stress beside a shear force
    on a plane that is not known.
    """
    of_stresses = ["added_normal_force", "apparatus_friction", "zero_reading"]
    stress = normal_unit == "kPa" or unit == "kPa"
    if specimen is None and stress and unit == "N":
        raise InputError(
            "specimen", MISSING, "a normal stress beside a shear force needs its shape and width"
        )
    for name in of_stresses if unit == "kPa" else of_stresses[:stress]:
        if specimen is not None and (force := getattr(specimen, name)):
            raise InputError(
                name,
                f"{force:g} N",
                "leave it out where the readings are stresses: it belongs to forces as read",
            )
    if specimen is None or unit == "kPa":
        return LoadScale(
            per_unit=1.0, normal_per_unit=1.0, added_normal=0.0, subtracted_shear=0.0, unit=unit
        )
    return LoadScale(
        per_unit=specimen.kpa_per_newton,
        normal_per_unit=1.0 if stress else specimen.kpa_per_newton,
        added_normal=specimen.added_normal_force,
        subtracted_shear=specimen.zero_reading + specimen.apparatus_friction,
        unit="kPa",
        notices=tuple(_correction_notices(specimen)),
    )


def _correction_notices(specimen: Specimen) -> Iterator[Notice]:
    if specimen.zero_reading:
        yield Notice.info(
            "zero-reading-subtracted",
            f"The shear gauge reads {specimen.zero_reading:g} N at no load; this was "
            "subtracted from every shear reading.",
        )
    if specimen.apparatus_friction:
        stress = specimen.apparatus_friction * specimen.kpa_per_newton
        yield Notice.info(
            "apparatus-friction-subtracted",
            f"The apparatus takes {specimen.apparatus_friction:g} N without soil "
            f"({stress:.2f} kPa on the plane); this was subtracted from every shear reading, "
            "the same at every normal load.",
        )
