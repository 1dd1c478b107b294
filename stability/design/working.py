"""The working of degrees of utilisation: design strengths, then every limit state."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from slipmargin.stability.design.result import DesignResult, DesignSoil
from slipmargin.strength.working import Step, Working

__all__ = ["held_checks", "soil_steps"]


def soil_steps(soils: Sequence[DesignSoil]) -> list[Step]:
    """Design strength of every soil; scalars only."""
    out = Working()
    source = "EN 1997-1:2004, 2.4.6.2"
    for soil in soils:
        given = {
            "c′": soil.cohesion,
            "γ_c": soil.cohesion_factor,
            "φ′": soil.friction_angle,
            "γ_φ": soil.tan_friction_angle_factor,
        }
        if any(np.ndim(value) for value in given.values()):
            continue
        out.known |= {symbol: float(np.asarray(value)) for symbol, value in given.items()}
        for what, symbol, value, unit, equation in (
            ("cohesion", "c_d", soil.design_cohesion, "kPa", "c′ / γ_c"),
            ("friction angle", "φ_d", soil.design_friction_angle, "deg", "atan(tan(φ′) / γ_φ)"),
        ):
            says = f"Design {what} of {soil.name}."
            out.add(says, symbol, value, unit, equation, source=source)
    return out.steps


def held_checks(design: DesignResult) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Each check with design strengths, once, and the limit states that rest on it."""
    found: list[tuple[list[str], Any]] = []
    for name, state in design.limit_states.items():
        if state.held is None:
            continue
        same = [names for names, one in found if one == state.held]
        if same:
            same[0].append(name)
        else:
            found.append(([name], state.held))
    return ((tuple(names), one) for names, one in found)
