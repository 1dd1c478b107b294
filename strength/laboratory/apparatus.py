"""What stands between the gauges of a shear box and its forces: a lever, and a proving ring.

A load hangs on a lever and presses on the specimen multiplied by its ratio; a dial shows how
far the ring is squeezed by the shear force. With m the mass on the hanger, W its weight, D the
dial and D₀ the dial at no load:

    W = 9.80665 m,   N = W · lever ratio,   S = (D - D₀) · ring constant

Where the ring has a table of calibration, S is read from it by linear interpolation, and never
beyond its ends. The weight of cap, hanger and soil is added later, with the specimen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.errors import MISSING, InputError, need_number
from slipmargin.strength.laboratory.number_column import number_column
from slipmargin.strength.notice import Notice

__all__ = ["Apparatus", "RingCalibration"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RingCalibration:
    """Load of a proving ring against its dial, both rising from row to row.

    Parameters
    ----------
    divisions
        Dial, counted from the dial at no load [div], shape (n,).
    loads
        Force [N], likewise.

    Raises
    ------
    InputError
        Fewer than two rows, columns of unequal length, or values that do not rise.
    """

    divisions: Floats
    loads: Floats

    def __post_init__(self) -> None:
        count = len(self.divisions)
        if count < 2:
            raise InputError(
                "ring calibration",
                f"{count} row{'' if count == 1 else 's'}",
                "give two rows or more",
            )
        for name, field in (("dial", "divisions"), ("load", "loads")):
            checked = number_column(f"ring calibration, {name}", getattr(self, field), count)
            object.__setattr__(self, field, checked)
            for before in np.flatnonzero(np.diff(checked) <= 0.0).tolist():
                place, value = f"ring calibration, {name}[{before + 1}]", checked[before + 1]
                allowed = f"it must rise from row to row; the row before has {checked[before]:g}"
                raise InputError(place, f"{value:g}", allowed)

    def span(self, divisions: float) -> int:
        """Index of the upper of the two rows between which a dial reading lies."""
        return int(np.clip(np.searchsorted(self.divisions, divisions), 1, len(self.loads) - 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Apparatus:
    """Lever and proving ring.

    Parameters
    ----------
    lever_ratio
        Normal force of a unit weight on the hanger [-]; 1 where the load hangs directly.
    ring_constant
        Shear force of one division of the dial [N/div].
    dial_zero
        What the dial shows at no load [div], of either sign; taken as 0 where it is not given,
        which is said with the readings.
    ring_calibration
        In place of the constant.
    notices
        What reading any of it had to say.

    Raises
    ------
    InputError
        A ratio or constant not above zero, what is no number, or both a constant and a table.

    Examples
    --------
    5 kg on the hanger of a lever of 10, and 150 divisions of a ring of 1.85 N each:

    >>> import numpy as np
    >>> from slipmargin.strength.laboratory.apparatus import Apparatus
    >>> box = Apparatus(lever_ratio=10.0, ring_constant=1.85, dial_zero=12.0)
    >>> box.normal_force(np.array([5.0 * 9.80665])).round(2).tolist()
    [490.33]
    >>> box.shear_force(np.array([150.0])).round(2).tolist()
    [255.3]
    """

    lever_ratio: float | None = None
    ring_constant: float | None = None
    dial_zero: float | None = None
    ring_calibration: RingCalibration | None = None
    notices: tuple[Notice, ...] = ()

    def __post_init__(self) -> None:
        for name in ("lever_ratio", "ring_constant", "dial_zero"):
            if (value := getattr(self, name)) is not None:
                need_number(name, value, above=-math.inf if name == "dial_zero" else 0.0)
        if self.ring_constant is not None and self.ring_calibration is not None:
            raise InputError(
                "ring_constant", self.ring_constant, "give it or a ring calibration, not both"
            )

    @property
    def zero(self) -> float:
        """The dial at no load [div], 0 where it is not given."""
        return 0.0 if self.dial_zero is None else self.dial_zero

    def normal_force(self, weight: Floats) -> Floats:
        """Normal force [N] of weights on the hanger [N].

        Raises
        ------
        InputError
            No lever ratio.
        """
        if self.lever_ratio is None:
            raise InputError(
                "lever_ratio",
                MISSING,
                "a hanger_load needs it, such as 10; 1 where the load hangs on the specimen itself",
            )
        return weight * self.lever_ratio

    def shear_force(self, dial: Floats, name: str = "dial") -> Floats:
        """Shear force [N] of dial readings [div], shape (n,), of which nan stays nan.

        ``name`` is that of their column, for an error.

        Raises
        ------
        InputError
            Neither a constant nor a table of the ring, or a reading beyond the table.
        """
        squeezed = dial - self.zero
        if self.ring_constant is not None:
            return squeezed * self.ring_constant
        table = self.ring_calibration
        if table is None:
            raise InputError(
                "ring_constant",
                MISSING,
                'a dial needs it, such as "1.85 N/div", or a ring calibration',
            )
        low, high = float(table.divisions[0]), float(table.divisions[-1])
        for index in np.flatnonzero((squeezed < low) | (squeezed > high)).tolist():
            raise InputError(
                f"{name}[{index}]",
                f"{dial[index]:g} div",
                f"beyond the calibration of the ring, which holds from {low + self.zero:g} "
                f"to {high + self.zero:g} div of this dial; calibrate it that far",
            )
        return np.asarray(np.interp(squeezed, table.divisions, table.loads))

    def refuse_unused(self, columns: set[str]) -> None:
        """Refuse what the columns of a table have no use for.

        Raises
        ------
        InputError
            A lever ratio without hanger loads, or a ring without dial readings.
        """
        of_ring = ("ring_constant", "ring_calibration", "dial_zero")
        for column, names in (("hanger_load", ("lever_ratio",)), ("dial", of_ring)):
            given = [name for name in names if getattr(self, name)]
            if given and column not in columns:
                value = getattr(self, given[0])
                raise InputError(
                    given[0],
                    "a table" if given[0] == "ring_calibration" else value,
                    f"it belongs to readings with a column {column}, which these do not have",
                )
