"""The wall of an earth pressure check: what its layers carry, and the pressure law of each.

The body force below water is that of the saturated weight over the buoyant, averaged over
the wedge: tan ψ = k_h Σσ_v / ((1 - k_v) Σσ′_v) down the wall, which is exact for the wedge
behind a vertical wall under level ground (Ebeling & Morrison 1992, USACE ITL-92-11,
restrained water, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.earth_pressure import coefficients
from slipmargin.stability.earth_pressure.coefficients import CurvedSlip
from slipmargin.stability.earth_pressure.inputs import EarthPressureInputs
from slipmargin.stability.earth_pressure.profile import (
    ConjugateLaw,
    Layer,
    LinearLaw,
    Overburden,
    PressureLaw,
    layer_overburden,
)
from slipmargin.strength import Numeric
from slipmargin.strength.traced import value_of

__all__ = ["LayerCoefficients", "WallProfile", "some", "uniform"]

Array = NDArray[np.float64]

_SAME = 1e-12


def some(condition: Any) -> bool:
    """Whether a condition holds in any case."""
    return bool(np.any(value_of(condition)))


@dataclass(frozen=True, slots=True)
class LayerCoefficients:
    """Coefficients of a layer [-].

    Parameters
    ----------
    weight
        Of the soil's own weight, with shaking if there is any.
    still
        The same without shaking.
    cohesion
        What one unit of cohesion takes off or adds; nan where the pressure is not linear in it.
    straight
        The same where in place of Rankine's curved pressure that of Coulomb's wedge on the
        same plane is taken.
    curved_slip
        Annex C, on the passive side.
    """

    weight: Numeric
    still: Numeric
    cohesion: Numeric
    straight: Numeric
    curved_slip: CurvedSlip | None


@dataclass(frozen=True, slots=True)
class WallProfile:
    """A check's wall and what its layers carry.

    Parameters
    ----------
    check
        The check it was made from.
    layers
        Its layers, or its one soil over the height.
    ground
        Vertical stress, surcharge included.
    surcharge_stress
        Vertical stress at the wall from the surcharge [kPa].
    seismic_angle
        ψ, water included [deg].
    coefficients
        Of each layer.
    """

    check: EarthPressureInputs
    layers: tuple[Layer, ...]
    ground: Overburden
    surcharge_stress: Numeric
    seismic_angle: Numeric
    coefficients: tuple[LayerCoefficients, ...]

    @classmethod
    def of(cls, check: EarthPressureInputs) -> WallProfile:
        """The profile of a check whose soil and layers have been held against each other."""
        layers = _layers(check)
        beta, theta = np.radians(check.backfill_slope_angle), np.radians(check.wall_batter)
        leaning = check.surcharge * np.cos(beta) * np.cos(theta) / np.cos(beta - theta)
        surcharge = np.where(theta == 0.0, +check.surcharge, leaning)
        ground = layer_overburden(
            layers,
            water_table_depth=check.water_table_depth,
            water_unit_weight=check.water_unit_weight,
            load=surcharge,
        )
        pressing = ground.effective_sum
        # a plane of no height carries nothing
        carried = np.where(pressing > 0.0, pressing, 1.0)
        share = 1.0 + np.where(pressing > 0.0, ground.water_sum / carried, 0.0)
        psi = coefficients.seismic_angle(
            check.horizontal_seismic_coefficient * share, check.vertical_seismic_coefficient
        )
        return cls(check, layers, ground, surcharge, psi, _by_layer(check, layers, psi))

    def of_soils(self, check: EarthPressureInputs) -> WallProfile:
        """The same wall with soils of the same weights and other strengths."""
        layers = _layers(check)
        found = _by_layer(check, layers, self.seismic_angle)
        return replace(self, check=check, layers=layers, coefficients=found)

    @property
    def cohesion(self) -> Array:
        """Of each layer, layers on the leading axis [kPa]."""
        by_layer = [layer.soil.strength.cohesion for layer in self.layers]
        return np.stack(np.broadcast_arrays(*by_layer))

    @property
    def cohesive(self) -> bool:
        """Whether any soil has cohesion in any case."""
        return any(some(layer.soil.strength.cohesion > 0.0) for layer in self.layers)

    @property
    def shaken(self) -> bool:
        """Whether any case has a seismic coefficient."""
        return _shaken(self.check)

    @property
    def wet(self) -> bool:
        """Whether water stands behind the wall in any case."""
        return some(self.ground.water_height > 0.0)

    @property
    def inclined(self) -> bool:
        """Whether the ground slopes or the back face leans in any case."""
        return some(self.check.backfill_slope_angle != 0.0) or some(self.check.wall_batter != 0.0)

    @property
    def sign(self) -> float:
        """+1 active, -1 passive."""
        return -1.0 if self.check.side == "passive" else 1.0

    @property
    def cracks(self) -> bool:
        """Whether negative pressure is left out."""
        return self.check.side == "active" and self.check.tension_crack

    @property
    def curved(self) -> bool:
        """Whether the pressure follows Rankine's conjugate stresses."""
        return _curved(self.check, self.layers)

    def laws(self) -> tuple[PressureLaw, ...]:
        """Pressure law of each layer, without shaking."""
        if not self.curved:
            return self.straight_laws(shaken=False)
        slope = self.check.backfill_slope_angle
        strengths = [layer.soil.strength for layer in self.layers]
        return tuple(
            ConjugateLaw(one.cohesion, one.friction_angle, slope, -self.sign) for one in strengths
        )

    def straight_laws(self, *, shaken: bool) -> tuple[PressureLaw, ...]:
        """Pressure law of each layer where it is linear in cohesion."""
        lift = 1.0 - self.check.vertical_seismic_coefficient
        found = []
        for layer, one in zip(self.layers, self.coefficients, strict=True):
            cohesion = layer.soil.strength.cohesion
            held = one.straight * cohesion
            tension = np.where(cohesion > 0.0, held if self.sign > 0.0 else -held, 0.0)
            found.append(LinearLaw(one.weight * lift if shaken else one.still, tension))
        return tuple(found)


def _layers(check: EarthPressureInputs) -> tuple[Layer, ...]:
    if check.soil is None:
        return tuple(check.layers)
    return (Layer(soil=check.soil, thickness=check.height),)


def _by_layer(
    check: EarthPressureInputs, layers: tuple[Layer, ...], psi: Numeric
) -> tuple[LayerCoefficients, ...]:
    leaning, curved = psi if _shaken(check) else None, _curved(check, layers)
    return tuple(_coefficients(check, layer, leaning, curved=curved) for layer in layers)


def _shaken(check: EarthPressureInputs) -> bool:
    return some(check.horizontal_seismic_coefficient != 0.0) or some(
        check.vertical_seismic_coefficient != 0.0
    )


def _curved(check: EarthPressureInputs, layers: tuple[Layer, ...]) -> bool:
    sloping = some(check.backfill_slope_angle != 0.0)
    cohesive = any(some(layer.soil.strength.cohesion > 0.0) for layer in layers)
    return check.theory == "rankine" and sloping and cohesive


def _coefficients(
    check: EarthPressureInputs, layer: Layer, psi: Numeric | None, *, curved: bool
) -> LayerCoefficients:
    """Coefficients of a layer, ``psi`` being ``None`` without shaking."""
    phi, cohesion = layer.soil.strength.friction_angle, layer.soil.strength.cohesion
    slope, theory = check.backfill_slope_angle, check.theory
    passive = check.side == "passive"
    angles = {"wall_batter": check.wall_batter, "backfill_slope_angle": slope}
    slip = None
    if passive:
        slip = coefficients.curved_slip(
            phi, wall_friction_angle=check.wall_friction_angle, **angles
        )
    if theory == "at_rest":
        ratio = check.overconsolidation_ratio
        own = coefficients.at_rest(phi, overconsolidation_ratio=ratio, backfill_slope_angle=slope)
        return LayerCoefficients(own, +own, 0.0, 0.0, slip)
    if theory == "annex_c" and slip is not None:
        delta, theta = np.radians(check.wall_friction_angle), np.radians(check.wall_batter)
        across = np.tan(np.radians(phi)) * np.cos(theta) * np.cos(delta)
        held = (slip.surface_load - 1.0) / across
        own = +slip.coefficient
        return LayerCoefficients(own, +own, held, held, slip)
    coulomb = coefficients.coulomb_passive if passive else coefficients.coulomb_active
    straight: Numeric
    if theory == "rankine":
        # his plane is a smooth cut through the fill, on which the thrust is parallel to the ground
        wall = {"wall_friction_angle": slope, **angles}
        rankine = coefficients.rankine_passive if passive else coefficients.rankine_active
        still = rankine(phi, backfill_slope_angle=slope)
        held = np.where(slope == 0.0, coefficients.bell_cohesion(still), np.nan)
        straight = held
        if curved:
            straight = coefficients.coulomb_cohesion_active(phi, **wall)
    else:
        wall = {"wall_friction_angle": check.wall_friction_angle, **angles}
        wedge = coefficients.coulomb_cohesion_active
        if passive:
            wedge = coefficients.coulomb_cohesion_passive
        carried = np.where(cohesion > 0.0, cohesion, 1.0)
        ratio = np.where(cohesion > 0.0, check.wall_adhesion / carried, 0.0)
        still = coulomb(phi, **wall)
        held = straight = wedge(phi, **wall, adhesion_ratio=ratio)
    if psi is None:
        # a value of its own, by its own symbol
        return LayerCoefficients(still, +still, held, straight, slip)
    shaken = coulomb(phi, **wall, seismic_angle=psi)
    return LayerCoefficients(shaken, still, held, straight, slip)


def uniform(by_layer: Sequence[Numeric]) -> Numeric:
    """The value that all layers share; nan where they differ."""
    first = by_layer[0]
    for one in by_layer[1:]:
        first = np.where(np.abs(one - by_layer[0]) <= _SAME * np.abs(by_layer[0]), first, np.nan)
    return first
