"""What a check by partial factors gives: strengths and limit states, as taken and as factored."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.design.partial_factors import (
    FactorSet,
    cohesion_factor,
    design_cohesion,
    design_friction_angle,
    design_strength,
)
from slipmargin.stability.soil import Soil
from slipmargin.strength import Notice, Numeric, Strength
from slipmargin.strength.working import Step, Working

__all__ = [
    "DesignLimitState",
    "DesignResult",
    "DesignSoil",
    "best_fits",
    "design_soils",
    "level_text",
    "utilisation",
    "utilisation_step",
    "with_cautious_strengths",
    "with_design_strengths",
]

_ANGLES = ("base_friction_angle", "wall_friction_angle")
_STRESSES = ("base_adhesion", "wall_adhesion", "root_cohesion")


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignSoil:
    """The strength of one soil, characteristic and design, with the factors between them.

    Cohesions are in [kPa], angles in [deg]. Of a curved envelope they are its chords.
    """

    name: str
    cohesion: Numeric
    friction_angle: Numeric
    design_cohesion: Numeric
    design_friction_angle: Numeric
    cohesion_factor: Numeric
    tan_friction_angle_factor: Numeric


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignLimitState:
    """One limit state: design effect against design resistance, in one unit.

    Parameters
    ----------
    effect, resistance
        Of the case that governs, element by element.
    utilisation
        Degree of utilisation, effect over resistance [-]: up to 1 passes, ``inf`` is beyond
        any resistance.
    unit, says
        Unit of effect and resistance, and what they are.
    set_name
        The set that this limit state is held to.
    factors
        The partial factors in it, by name.
    steps
        How the utilisation follows from the check with design strengths; empty for arrays.
    held
        That check, whose own working leads to the values in the steps; none for arrays.
    """

    effect: Numeric
    resistance: Numeric
    utilisation: Numeric
    unit: str
    says: str
    set_name: str
    factors: Mapping[str, float]
    steps: tuple[Step, ...] = ()
    held: Any = None

    @property
    def passes(self) -> NDArray[np.bool_]:
        """Whether the design effect is within the design resistance."""
        return np.asarray(np.asarray(self.utilisation) <= 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignResult:
    """A check held to one set of partial factors.

    Parameters
    ----------
    factor_set
        The set.
    soils
        Every soil of the check, once.
    limit_states
        By name, in the order of the check; empty where it has none.
    notices
        What must not be parted from the degrees of utilisation.
    on_cautious
        Degree of utilisation by limit state with the cautious value in place of every best
        fit [-]; empty where there is none.
    """

    factor_set: FactorSet
    soils: tuple[DesignSoil, ...]
    limit_states: Mapping[str, DesignLimitState]
    notices: tuple[Notice, ...] = ()
    on_cautious: Mapping[str, Numeric] = field(default_factory=dict)

    @property
    def utilisation(self) -> dict[str, Numeric]:
        """Degree of utilisation by limit state [-]."""
        return {name: state.utilisation for name, state in self.limit_states.items()}

    @property
    def highest(self) -> Numeric:
        """Highest degree of utilisation over the limit states [-]."""
        levels = np.broadcast_arrays(*self.utilisation.values())
        return np.max(np.stack(levels), axis=0)  # type: ignore[no-any-return]


def utilisation(effect: Numeric, resistance: Numeric) -> NDArray[np.float64]:
    """Effect over resistance [-]: 0 where nothing acts, ``inf`` where nothing resists or the
    theory has no answer.
    """
    acting, resisting = np.asarray(effect, dtype=float), np.asarray(resistance, dtype=float)
    resists = resisting > 0.0
    level = np.where(resists, acting / np.where(resists, resisting, 1.0), np.inf)
    level = np.where(acting <= 0.0, 0.0, level)
    return np.where(np.isnan(acting) | np.isnan(resisting), np.inf, level)[()]


def level_text(level: float) -> str:
    """A degree of utilisation with two decimals, rounded up onto what it exceeds."""
    if np.isnan(level):
        return "-"
    if np.isinf(level):
        return "no resistance"
    shown = f"{level:.2f}"
    return "1.01" if level > 1.0 and shown == "1.00" else shown


def utilisation_step(name: str, effect: float, resistance: float) -> list[Step]:
    """Effect over resistance as the last step of a limit state; none where it is no number."""
    if not (np.isfinite(effect) and np.isfinite(resistance) and resistance > 0.0):
        return []
    out = Working()
    out.known |= {"E_d": effect, "R_d": resistance}
    says = f"Degree of utilisation in {name}: design effect over design resistance."
    out.add(says, "Λ", utilisation(effect, resistance), "", "E_d / R_d")
    return out.steps


def with_design_strengths(record: Any, factors: FactorSet) -> Any:
    """The same check, or group of fields, with every strength in it divided by its partial factor:
    soils wherever they stand, also in layers, and the friction and adhesion that are stated for a
    base, a back face or roots.
    """
    by_tan = factors.tan_friction_angle

    def reduced(name: str, declaration: Any, held: Any) -> Any:
        if isinstance(declaration, fields.SoilField):
            return dataclasses.replace(held, strength=design_strength(held.strength, factors))
        if name in _STRESSES:
            return design_cohesion(held, factors.cohesion)
        return design_friction_angle(held, by_tan) if name in _ANGLES else held

    return fields.changed(record, reduced)


def best_fits(record: Any) -> dict[str, Strength]:
    """Strengths of a check that are the best fit of tests, by the name of their soil."""
    return {
        soil.name: soil.strength
        for soil in fields.soils(record)
        if soil.strength.value == "best_fit"
    }


def with_cautious_strengths(record: Any) -> Any:
    """The same check with the cautious value in place of every best fit that has one."""

    def careful(_: str, declaration: Any, held: Any) -> Any:
        if not isinstance(declaration, fields.SoilField) or held.strength.cautious is None:
            return held
        return dataclasses.replace(held, strength=held.strength.cautious)

    return fields.changed(record, careful)


def design_soils(record: Any, factors: FactorSet) -> tuple[DesignSoil, ...]:
    """Characteristic and design strength of every soil of a check, each once."""
    return tuple(
        DesignSoil(
            name=soil.name,
            cohesion=soil.strength.cohesion,
            friction_angle=soil.strength.friction_angle,
            design_cohesion=(reduced := design_strength(soil.strength, factors)).cohesion,
            design_friction_angle=reduced.friction_angle,
            cohesion_factor=cohesion_factor(soil.strength, factors),
            tan_friction_angle_factor=_tangent_factor(soil, factors),
        )
        for soil in {id(soil.strength): soil for soil in fields.soils(record)}.values()
    )


def _tangent_factor(soil: Soil, factors: FactorSet) -> Numeric:
    if soil.strength.curve is not None:
        return cohesion_factor(soil.strength, factors)
    return factors.tan_friction_angle
