"""Height, face angle and support force at which a planar wedge just meets a target.

Each is the first crossing of the target on a scan, refined by root finding and put back
into the check before it is believed. The plane and the crack are searched anew, or stay
where they were given, at every trial. They are those of planes alone: where the plane is
searched for, the rotation of the same slope stands at less height and needs more support.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.planar_wedge.case import Case
from slipmargin.stability.planar_wedge.geometry import StraightSlope
from slipmargin.stability.planar_wedge.search import critical_surface
from slipmargin.strength import Numeric

__all__ = ["PlanarLimits", "maximum_height", "required_support_force", "steepest_face_angle"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Change = Callable[[Case, Array], Case]

_BELIEVED = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanarLimits:
    """Height [m], face angle [deg] and support force [kN/m] at which planes alone meet a target;
    nan where there is none.
    """

    maximum_height: Numeric
    steepest_face_angle: Numeric
    required_support_force: Numeric


def maximum_height(case: Case, size: int) -> Array:
    """Height at which the factor first falls to the target [m]; nan where it never does, or
    where the ground is a line of points or water stands in it, which would not grow with it.
    """
    now = np.broadcast_to(np.asarray(case.slope.height, dtype=float), (size,))
    heights = now[:, None] * np.logspace(-3.0, 3.0, 61)
    return _of_dry_slope(case, "height", heights)[0]


def steepest_face_angle(case: Case, size: int) -> Array:
    """Face angle at which the factor first falls to the target [deg]; 90 where a vertical
    face still meets it, nan where none does or the ground is a line of points.
    """
    flattest = case.slope.upper_slope_angle if case.plane_angle is None else case.plane_angle
    start = np.broadcast_to(np.asarray(flattest, dtype=float), (size,))[:, None]
    faces = start + (90.0 - start) * np.linspace(1e-3, 1.0, 61)
    angle, always = _of_dry_slope(case, "face_angle", faces)
    return np.where(always, 90.0, angle)


def required_support_force(case: Case, size: int) -> Array:
    """Support force, in all and at the angle given, that meets the target [kN/m]; 0 where
    none is needed, nan where none does it.
    """

    def with_force(trial: Case, force: Array) -> Case:
        return replace(trial, loads=replace(trial.loads, support_force=force))

    rise = np.asarray(case.slope.height, dtype=float)
    measure = 0.5 * case.loads.unit_weight * rise**2 + case.loads.surcharge * rise
    measure = np.broadcast_to(measure, (size,))[:, None]
    forces = measure * np.concatenate([[0.0], np.logspace(-5.0, 2.0, 57)])
    force, meets = _crossing(case, with_force, forces, falling=False)
    return np.where(meets[:, 0], 0.0, force)


def _of_dry_slope(case: Case, name: str, trials: Array) -> tuple[Array, Flags]:
    """Value of one field of a straight slope at which the factor falls to the target, and where
    it never does; nan where water stands whose place would not change with it.
    """
    found, always = np.full(len(trials), np.nan), np.zeros(len(trials), dtype=bool)
    water = case.water
    wet = np.asarray(water is not None and ((water.line is not None) | np.greater(water.pool, 0.0)))
    if not isinstance(case.slope, StraightSlope) or np.all(wet):
        return found, always

    def changed(trial: Case, value: Array) -> Case:
        moved: Any = {name: value}
        return replace(trial, slope=replace(trial.slope, **moved))

    found, meets = _crossing(case, changed, trials, falling=True)
    return np.where(wet, np.nan, found), np.all(meets, axis=1) & ~wet


def _crossing(case: Case, changed: Change, trials: Array, *, falling: bool) -> tuple[Array, Flags]:
    """First trial value at which the factor crosses the target, and which of all meet it."""
    size, count = trials.shape

    def factor_at(value: Array, of: NDArray[np.intp]) -> Array:
        return critical_surface(changed(case.taken(of), value), value.size).factor

    def gap_at(value: Array, of: Any) -> Array:
        index = np.asarray(of, dtype=np.intp)
        factor = np.minimum(factor_at(value, index), 1e300)
        wanted = target[index]
        gap: Array = (factor - wanted) / (factor + wanted)  # bounded, so that no trial outweighs
        return gap

    target = np.broadcast_to(case.target, (size,))
    every = np.arange(size)
    factors = factor_at(trials.ravel(), np.repeat(every, count)).reshape(size, count)
    meets = factors >= target[:, None]
    turns = meets[:, :-1] & ~meets[:, 1:] if falling else ~meets[:, :-1] & meets[:, 1:]
    crosses = np.any(turns, axis=1)
    found = np.full(size, np.nan)
    some = np.flatnonzero(crosses)
    if some.size:
        at = np.argmax(turns[some], axis=1)
        bracket = trials[some, at], trials[some, at + 1]
        from scipy.optimize import elementwise  # noqa: PLC0415  (few runs design)

        found_root = elementwise.find_root(
            gap_at, bracket, args=(some.astype(float),), tolerances={"xrtol": 1e-11}
        )
        root = found_root.x
        missed = np.abs(factor_at(root, some) - target[some]) > _BELIEVED * target[some]
        found[some] = np.where(missed, np.nan, root)
    return found, meets
