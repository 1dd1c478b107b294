"""The ground of a layered slope as lines and numbers, read from its fields.

Lines (ground, tops of layers, water) are shared by all samples; numbers are arrays of one
element or of one a sample, of layers with the layers first. Every line goes on level at both
ends.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.points import Line

__all__ = ["Amounts", "Float", "Section", "each", "picked"]

Float = NDArray[np.float64]
Record = TypeVar("Record")


def each(record: Record, change: Callable[[Any], Any]) -> Record:
    """A record of arrays, each of them changed in one way."""
    kind: Any = type(record)
    changed: Record = kind(**{name: change(getattr(record, name)) for name in kind.__slots__})
    return changed


def picked(record: Record, mask: NDArray[np.bool_]) -> Record:
    """The circles of a mask of shape (samples, circles), as the circles of one sample."""
    return each(record, lambda one: np.broadcast_to(one, mask.shape + one.shape[2:])[mask][None])


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """Numbers of a section, each of shape (samples,) or (1,).

    Of the layers, of shape (layers, samples or 1): ``cohesion`` [kPa] and ``tan_friction_angle``
    [-], of a curved envelope a first guess; ``coefficient`` and ``exponent`` of the curved ones
    [-], nan where a layer has none; unit weights [kN/m³].

    The surcharge [kPa] stands from ``load_start`` to ``load_end`` [m]; the ``pool`` [m] lies below
    all ground where there is none, and ``firm`` ground [m] at -inf; the support force has a part
    ``support_along`` into the slope and one upward [kN/m]. ``crack_depth`` and ``crack_water`` are
    those of the tension crack [m], ``least_depth`` what a slip surface reaches at least [m].
    """

    cohesion: Float
    tan_friction_angle: Float
    coefficient: Float
    exponent: Float
    unit_weight: Float
    saturated_unit_weight: Float
    water_unit_weight: Float
    water_rise: Float
    pore_pressure_ratio: Float
    seismic_coefficient: Float
    surcharge: Float
    load_start: Float
    load_end: Float
    pool: Float
    support_along: Float
    support_up: Float
    support_x: Float
    support_y: Float
    firm: Float
    crack_depth: Float
    crack_water: Float
    least_depth: Float

    @property
    def samples(self) -> int:
        """How many there are."""
        return max(int(getattr(self, name).shape[-1]) for name in self.__slots__)

    def take(self, rows: slice | NDArray[np.intp]) -> Amounts:
        """Some of the samples; what is the same for all of them stays one."""
        return each(self, lambda one: one if one.shape[-1] == 1 else one[..., rows])

    def varying(self) -> dict[str, Float]:
        """What differs from sample to sample, one row each of shape (samples,)."""
        found: dict[str, Float] = {}
        for name in self.__slots__:
            value = getattr(self, name)
            for index, row in enumerate(value.reshape(-1, value.shape[-1])):
                if row.size > 1 and np.all(np.isfinite(row)) and np.ptp(row) > 0.0:
                    found[f"{name}.{index}"] = row
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Lines and numbers of a slope.

    ``ground`` and ``tops`` (of the second layer and those below) are lines, ``water`` one or
    none. ``curved`` says which layers have a curved envelope, of the reference pressures
    ``reference`` [kPa]. ``size`` is the height of the slope [m];
    ``searches_crack`` says that a crack may be of any depth up to the one that is held, and
    ``pool_stands`` that the pool presses on the ground; if not, its water is left in there.
    """

    ground: Line
    tops: tuple[Line, ...]
    water: Line | None
    amounts: Amounts
    curved: tuple[bool, ...]
    reference: tuple[float, ...]
    size: float
    searches_crack: bool = False
    pool_stands: bool = True

    def take(self, rows: slice | NDArray[np.intp]) -> Section:
        """Some of the samples."""
        return dataclasses.replace(self, amounts=self.amounts.take(rows))

    def drawn_down(self) -> Section:
        """The pool gone faster than the ground drains."""
        return dataclasses.replace(self, pool_stands=False)

    def with_amounts(self, **changes: Float) -> Section:
        """The same lines with some other numbers."""
        return dataclasses.replace(self, amounts=dataclasses.replace(self.amounts, **changes))

    def with_row(self, name: str, row: Float) -> Section:
        """The same with one row of what varies replaced, by its name in ``Amounts.varying``."""
        field, index = name.split(".")
        held = getattr(self.amounts, field)
        new = np.array(np.broadcast_to(held, (*held.shape[:-1], row.size)))
        new.reshape(-1, row.size)[int(index)] = row
        return self.with_amounts(**{field: new})
