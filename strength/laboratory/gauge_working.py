"""The working from hanger and dial to the forces in the shear box."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from slipmargin.strength.laboratory.apparatus import Gauges
from slipmargin.strength.quantities import STANDARD_GRAVITY
from slipmargin.strength.working import Step, put_numbers_in

__all__ = ["apparatus_steps", "normal_force_steps", "shear_force_steps"]


def apparatus_steps(gauges: Gauges) -> list[Step]:
    """What is known of the apparatus: R_L lever ratio, D_0 dial at no load, k ring constant."""
    box, steps = gauges.apparatus, []
    if gauges.hanger_load is not None and box.lever_ratio is not None:
        says = "Lever ratio: normal force of a unit weight on the hanger."
        steps.append(Step(says, "R_L", box.lever_ratio))
    if gauges.dial is not None:
        if box.zero:
            steps.append(Step("Dial at no load.", "D_0", box.zero, "div"))
        if box.ring_constant is not None:
            says = "Constant of the proving ring."
            steps.append(Step(says, "k", box.ring_constant, "N/div"))
    return steps


def normal_force_steps(gauges: Gauges, rows: Sequence[int], index: int, name: str) -> list[Step]:
    """From the hanger to the normal force N of the readings of one test.

    Parameters
    ----------
    gauges
        As read.
    rows
        The readings of the test.
    index, name
        Of the test; a second index counts readings that differ.
    """
    if gauges.hanger_load is None:
        return []
    loads = np.unique(gauges.hanger_load[list(rows)]).tolist()
    steps = []
    for suffix, of, load in _numbered(loads, index, name):
        box = gauges.apparatus
        known = {"R_L": float(box.lever_ratio or 1.0), f"W_{suffix}": load}
        if gauges.from_mass:
            mass = known[f"m_{suffix}"] = load / STANDARD_GRAVITY
            equation = f"{STANDARD_GRAVITY} * m_{suffix}"
            numbers = put_numbers_in(equation, known)
            steps += [
                Step(f"Mass on the hanger of {of}.", f"m_{suffix}", mass, "kg"),
                Step("Its weight.", f"W_{suffix}", load, "N", equation, numbers),
            ]
        else:
            steps.append(Step(f"Load on the hanger of {of}.", f"W_{suffix}", load, "N"))
        equation = f"R_L * W_{suffix}"
        force = float(box.normal_force(np.array(load)))
        says = f"Normal force of {of}, by the lever."
        numbers = put_numbers_in(equation, known)
        steps.append(Step(says, f"N_{suffix}", force, "N", equation, numbers))
    return steps


def shear_force_steps(gauges: Gauges, rows: Sequence[int], index: int, name: str) -> list[Step]:
    """From the dial to the shear force S of the readings of one test; see the normal force."""
    if gauges.dial is None or gauges.dial_low is None:
        return []
    banded = bool(np.all(np.isfinite(gauges.dial_low[list(rows)])))
    middle = ", the middle of the band in which it bounced" if banded else ""
    box = gauges.apparatus
    dials = gauges.dial[list(rows)]
    dials = np.unique(dials) if np.ptp(dials) == 0.0 else dials
    steps = []
    for suffix, of, dial in _numbered(dials.tolist(), index, name):
        symbol = f"D_{suffix}"
        known = {symbol: dial, "D_0": box.zero, "k": box.ring_constant or 0.0}
        squeezed = f"{symbol} - D_0" if box.zero else symbol
        says = f"Shear force of {of}, by the ring"
        if box.ring_calibration is None:
            equation = f"k * ({squeezed})" if box.zero else f"k * {symbol}"
        else:
            table = box.ring_calibration
            upper = table.span(dial - box.zero)
            known |= dict(
                zip(("d_l", "d_u"), table.divisions[upper - 1 : upper + 1].tolist(), strict=True)
            )
            known |= dict(
                zip(("L_l", "L_u"), table.loads[upper - 1 : upper + 1].tolist(), strict=True)
            )
            equation = f"L_l + ({squeezed} - d_l) * (L_u - L_l) / (d_u - d_l)"
            says += (
                f": between the rows of its calibration of {known['d_l']:g} div, "
                f"{known['L_l']:g} N, and {known['d_u']:g} div, {known['L_u']:g} N"
            )
        force = float(box.shear_force(np.array([dial]))[0])
        numbers = put_numbers_in(equation, known)
        steps += [
            Step(f"Dial of {of}{middle}.", symbol, dial, "div"),
            Step(f"{says}.", f"S_{suffix}", force, "N", equation, numbers),
        ]
    return steps


def _numbered(values: list[float], index: int, name: str) -> list[tuple[str, str, float]]:
    """Values with their subscript and in words."""
    if len(values) == 1:
        return [(f"{index}", f"test {name}", values[0])]
    return [
        (f"{index},{count}", f"test {name}, reading {count}", value)
        for count, value in enumerate(values, start=1)
    ]
