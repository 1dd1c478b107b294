"""Reads a readings file: tidy CSV, one row a reading, units in the header.

Header names carry their unit in brackets: ``normal_force [N]``. Lines that begin with ``#``
are comments. See ``COLUMNS`` for what is known. A file in which a test has many rows with
``displacement`` is a stress-displacement record (``Readings.is_record``): there the shear
gauge may read below zero, which it does at the start of a test and when the box is pushed
back. Anywhere else a negative reading is refused.

Loads on a hanger and divisions of a dial become forces by the apparatus that is given beside
the file.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from slipmargin.strength.errors import MISSING, InputError, need_path
from slipmargin.strength.laboratory.apparatus import Apparatus, Floats, RingCalibration
from slipmargin.strength.laboratory.csv_table import Known, Table, read_table
from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.laboratory.triaxial import triaxial_readings
from slipmargin.strength.notice import Notice, distinct
from slipmargin.strength.quantities import STANDARD_GRAVITY

__all__ = ["COLUMNS", "read_readings", "read_ring_calibration"]

COLUMNS: dict[str, Known] = {
    "test": Known(like=r"(no\.?$|id$|name$|specimen|sample|#|test)"),
    "state": Known(),
    "normal_stress": Known("stress", r"(σ|sigma|normal$|vertical_stress)"),
    "normal_force": Known("force", r"([npw]$|normal_load|vertical_(load|force))"),
    "hanger_load": Known("force", r"(hanger|weights?$|mass)"),
    "shear_stress": Known("stress", r"(τ|tau|shear$|strength$)"),
    "shear_force": Known("force", r"([stfq]$|shear_load|horizontal_(load|force))"),
    "shear_stress_low": Known("stress"),
    "shear_stress_high": Known("stress"),
    "shear_force_low": Known("force"),
    "shear_force_high": Known("force"),
    "dial": Known("divisions", r"(ring|proving_ring|gauge|dial|divisions?$|div$)"),
    "dial_low": Known("divisions"),
    "dial_high": Known("divisions"),
    "displacement": Known("displacement", r"(δ|delta|horizontal|shear_displacement|travel|dx$)"),
    "vertical_displacement": Known("displacement", r"(dv|dy|vertical)"),
    "rate": Known("rate"),
    "cell_pressure": Known("stress"),
    "deviator_stress": Known("stress"),
    "pore_pressure": Known("stress"),
}
"""Columns of a readings file: the kind of quantity in each, and what else it may be called.

``displacement`` is the travel of the moving half of the box from the start of shearing;
``vertical_displacement`` is positive upward (the specimen dilates).
"""

_MOVEMENT = ("displacement", "vertical_displacement", "rate")
_TRIAXIAL = ("cell_pressure", "deviator_stress", "pore_pressure")
_OF_TRIAXIAL = ("cell_pressure", "deviator_stress")
_NORMAL = ("normal_stress", "normal_force", "hanger_load")
_SHEAR = ("shear_stress", "shear_force", "dial")
_PAIRS = {
    "shear_stress": ("normal_stress",),
    "shear_force": _NORMAL,
    "dial": _NORMAL,
}
"""Normal loads that may stand beside each shear load."""


_NEEDED = "triaxial tests need cell_pressure and deviator_stress"

_ZERO_TAKEN = Notice.caution(
    "dial-zero-not-given",
    "No dial_zero is given, so the dial was taken to show 0 at no load. If it showed more, every "
    "shear stress here is too high.",
)


def read_readings(path: str | Path, apparatus: Apparatus | None = None) -> Readings:
    """Read a readings file.

    Parameters
    ----------
    path
        The table.
    apparatus
        Lever and ring, for columns ``hanger_load`` and ``dial``.

    Raises
    ------
    InputError
        With row and column of the first thing that cannot be used. The file's name is
        left to the caller.
    """
    table = read_table(need_path(path), COLUMNS)
    names = set(table.columns)
    kind = _kind(names)
    apparatus = apparatus or Apparatus()
    apparatus.refuse_unused(names)
    for row, name in enumerate(table.words("test")):
        if not name:
            raise InputError(table.place("test", row), MISSING, "name the test")
    try:
        if kind == _OF_TRIAXIAL:
            readings = triaxial_readings(
                table.words("test"),
                *map(table.numbers, _TRIAXIAL),
                state=table.words("state", "peak"),
                notices=[*table.notices, *apparatus.notices],
            )
        else:
            readings = _of_a_box(table, kind, apparatus)
    except InputError as error:
        raise _told(table, kind, apparatus, error) from None
    if not readings.is_record:
        return replace(readings, notices=distinct([*readings.notices, *_copies(table)]))
    if "state" in names:
        raise InputError(
            "header",
            "state",
            "leave the column out of a stress-displacement record: peak, end of test and "
            "residual are picked from the curve",
        )
    return readings


def _of_a_box(table: Table, kind: tuple[str, str], apparatus: Apparatus) -> Readings:
    of_normal, of_shear = kind
    normal = table.numbers(of_normal)
    shear, low, high = (table.numbers(name) for name in _band(of_shear))
    # of a band with one end alone, that end: it is refused further on
    shear = np.where(np.isnan(shear), (np.fmin(low, high) + np.fmax(low, high)) / 2.0, shear)
    taken: dict[str, Floats] = {}
    said = [*table.notices, *apparatus.notices]
    if of_normal == "hanger_load":
        if table.columns[of_normal].from_mass:
            taken["hanger_mass"] = normal / STANDARD_GRAVITY
        else:
            taken["hanger_load"] = normal
        normal = apparatus.normal_force(normal)
    if of_shear == "dial":
        taken |= {"dial_low": low, "dial_high": high, "dial": shear}
        low, high, shear = (
            apparatus.shear_force(taken[name], name) for name in ("dial_low", "dial_high", "dial")
        )
        if apparatus.dial_zero is None:
            said.append(_ZERO_TAKEN)
    of_stress = of_shear == "shear_stress"
    moved: dict[str, Any] = {
        name: table.numbers(name) for name in _MOVEMENT if name in table.columns
    }
    return Readings(
        test=table.words("test"),
        state=table.words("state", "peak"),
        normal=normal,
        shear=shear,
        low=low,
        high=high,
        unit="kPa" if of_stress else "N",
        normal_unit="kPa" if of_normal == "normal_stress" and not of_stress else None,
        taken=taken,
        apparatus=apparatus,
        notices=distinct(said),
        **moved,
    )


def _band(of_shear: str) -> tuple[str, str, str]:
    """The columns of a shear load and of the band it bounced in."""
    return of_shear, f"{of_shear}_low", f"{of_shear}_high"


def _told(
    table: Table, kind: tuple[str, str], apparatus: Apparatus, error: InputError
) -> InputError:
    """What is wrong with readings, told of the cells of their table."""
    of_normal, of_shear = kind
    names = ("normal", "shear", "low", "high")
    columns = dict(zip(names, (of_normal, *_band(of_shear)), strict=True))
    found = table.located(error, columns)
    allowed = found.allowed
    if found.value is MISSING and found.place != error.place:
        if kind == _OF_TRIAXIAL:
            allowed = f"{_NEEDED}, both at failure"
        elif error.place.startswith("shear"):
            allowed = "give a number, or a band"
    elif of_shear == "dial" and error.allowed.endswith("from 0 upward") and "dial" in found.place:
        allowed = f"allowed: from the dial_zero, {apparatus.zero:g} div, upward"
    return InputError(found.place, found.value, allowed)


def _copies(table: Table) -> list[Notice]:
    """That rows are the same as earlier ones."""
    first: dict[tuple[str, ...], int] = {}
    pairs = [
        f"{first[row]} and {line}"
        for line, cells in zip(table.lines, table.cells, strict=True)
        if first.setdefault(row := tuple(cells.values()), line) != line
    ]
    if not pairs:
        return []
    more = f" (and {len(pairs) - 3} more pairs)" if len(pairs) > 3 else ""
    return [
        Notice.caution(
            "duplicate-reading",
            f"Rows {', '.join(pairs[:3])}{more} of the readings are the same to the last digit; "
            "if one was copied by mistake, take it out.",
        )
    ]


def _kind(names: set[str]) -> tuple[str, str]:
    """The columns of the normal and of the shear load, or those of a triaxial test."""
    if "test" not in names:
        raise InputError("column test", MISSING, "it names each test")
    if names & set(_TRIAXIAL):
        if others := sorted(names - {"test", "state", *_TRIAXIAL}):
            allowed = "a table of triaxial tests has no such column"
            raise InputError("header", ", ".join(others), allowed)
        for name in _OF_TRIAXIAL:
            if name not in names:
                raise InputError(f"column {name}", MISSING, _NEEDED)
        return _OF_TRIAXIAL
    shear = [name for name in _SHEAR if {name, f"{name}_low", f"{name}_high"} & names]
    normal = [name for name in _NORMAL if name in names]
    for given, known, what in ((normal, _NORMAL, "normal"), (shear, _SHEAR, "shear")):
        if not given:
            place = f"column {known[0]}"
            raise InputError(place, MISSING, f"or another {what} load: {', '.join(known[1:])}")
        if len(given) > 1:
            raise InputError("header", ", ".join(given), f"keep one column of the {what} load")
    if normal[0] not in _PAIRS[shear[0]]:
        allowed = "give normal_stress with shear_stress, or normal_force with shear_force"
        raise InputError("header", f"{normal[0]}, {shear[0]}", allowed)
    band = {f"{shear[0]}_low", f"{shear[0]}_high"}
    if 0 < len(band & names) < len(band):
        raise InputError(f"column {(band - names).pop()}", MISSING, "a band has both ends")
    return normal[0], shear[0]


def read_ring_calibration(path: Path) -> tuple[RingCalibration, tuple[Notice, ...]]:
    """Read the calibration of a proving ring: columns ``dial [div]`` and ``load [N]``.

    The first thing that cannot be used is refused with its row and column.
    """
    table = read_table(path, {"dial": COLUMNS["dial"], "load": Known("force")})
    for name, unit in (("dial", "div"), ("load", "N")):
        if name not in table.columns:
            raise InputError(f"column {name} [{unit}]", MISSING, "a ring calibration has both")
    try:
        ring = RingCalibration(table.numbers("dial"), table.numbers("load"))
    except InputError as error:
        raise table.located(error, {}) from None
    return ring, tuple(table.notices)
