"""The wall of an earth pressure check: what its layers carry, the pressure law of each, and their
thrust by coefficients.

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
    thrust_of,
    total,
)
from slipmargin.strength import Numeric
from slipmargin.strength.traced import some

__all__ = ["LayerCoefficients", "WallProfile", "profile_thrust", "uniform"]

Array = NDArray[np.float64]

_SAME = 1e-12


@dataclass(frozen=True, slots=True)
class LayerCoefficients:
    """Coefficients of a layer [-]: of the soil's own weight, with shaking if there is any and
    ``still``; ``cohesion``, what one unit of cohesion takes off or adds, nan where the pressure
    is not linear in it; ``straight``, the same where in place of Rankine's curved pressure that
    of Coulomb's wedge on the same plane is taken; and Annex C on the passive side.
    """

    weight: Numeric
    still: Numeric
    cohesion: Numeric
    straight: Numeric
    curved_slip: CurvedSlip | None


@dataclass(frozen=True, slots=True)
class WallProfile:
    """A check's wall and what its layers carry.

    ``layers`` are those of the check, or its one soil over the height; ``ground`` is the vertical
    stress, surcharge included, and ``surcharge_stress`` that of the surcharge at the wall [kPa];
    ``seismic_angle`` is ψ, water included [deg]; ``coefficients`` are those of each layer.
    """

    check: EarthPressureInputs
    layers: tuple[Layer, ...]
    ground: Overburden
    surcharge_stress: Numeric
    seismic_angle: Numeric
    coefficients: tuple[LayerCoefficients, ...] = ()

    @classmethod
    def of(cls, check: EarthPressureInputs) -> WallProfile:
        """The profile of a check whose soil and layers have been held against each other."""
        layers = _layers(check)
        beta, theta = np.radians(check.backfill_slope_angle), np.radians(check.wall_batter)
        leaning = check.surcharge * np.cos(beta) * np.cos(theta) / np.cos(beta - theta)
        surcharge = np.where(theta == 0.0, +check.surcharge, leaning)
        ground = layer_overburden(
            layers,
            surcharge,
            water_table_depth=check.water_table_depth,
            water_unit_weight=check.water_unit_weight,
        )
        pressing, water = (
            ground.effective_sum,
            check.water_unit_weight * ground.water_height**2 / 2.0,
        )
        # a plane of no height carries nothing
        carried = np.where(pressing > 0.0, pressing, 1.0)
        share = 1.0 + np.where(pressing > 0.0, water / carried, 0.0)
        psi = coefficients.seismic_angle(
            check.horizontal_seismic_coefficient * share, check.vertical_seismic_coefficient
        )
        return cls(check, layers, ground, surcharge, psi)._with_coefficients()

    def of_soils(self, check: EarthPressureInputs) -> WallProfile:
        """The same wall with soils of the same weights and other strengths."""
        return replace(self, check=check, layers=_layers(check))._with_coefficients()

    def _with_coefficients(self) -> WallProfile:
        return replace(self, coefficients=tuple(map(self._coefficients, self.layers)))

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
        check = self.check
        along, up = check.horizontal_seismic_coefficient, check.vertical_seismic_coefficient
        return some(along != 0.0) or some(up != 0.0)

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
        sloping = some(self.check.backfill_slope_angle != 0.0)
        return self.check.theory == "rankine" and sloping and self.cohesive

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

    def _coefficients(self, layer: Layer) -> LayerCoefficients:
        check, slope = self.check, self.check.backfill_slope_angle
        phi, cohesion = layer.soil.strength.friction_angle, layer.soil.strength.cohesion
        wall: dict[str, Any] = {
            "wall_friction_angle": check.wall_friction_angle,
            "wall_batter": check.wall_batter,
            "backfill_slope_angle": slope,
        }
        slip = coefficients.curved_slip(phi, **wall) if check.side == "passive" else None
        if check.theory == "at_rest":
            own = coefficients.at_rest(
                phi,
                overconsolidation_ratio=check.overconsolidation_ratio,
                backfill_slope_angle=slope,
            )
            return LayerCoefficients(own, +own, 0.0, 0.0, slip)
        if check.theory == "annex_c" and slip is not None:
            delta, theta = np.radians(check.wall_friction_angle), np.radians(check.wall_batter)
            across = np.tan(np.radians(phi)) * np.cos(theta) * np.cos(delta)
            held = (slip.surface_load - 1.0) / across
            own = +slip.coefficient
            return LayerCoefficients(own, +own, held, held, slip)
        wall["side"] = check.side
        straight: Numeric
        if check.theory == "rankine":
            # a smooth cut through the fill, on which the thrust is parallel to the ground
            wall["wall_friction_angle"] = slope
            still = coefficients.rankine(phi, side=check.side, backfill_slope_angle=slope)
            held = np.where(slope == 0.0, coefficients.bell_cohesion(still), np.nan)
            straight = coefficients.coulomb_cohesion(phi, **wall) if self.curved else held
        else:
            carried = np.where(cohesion > 0.0, cohesion, 1.0)
            ratio = np.where(cohesion > 0.0, check.wall_adhesion / carried, 0.0)
            still = coefficients.coulomb(phi, **wall)
            held = straight = coefficients.coulomb_cohesion(phi, **wall, adhesion_ratio=ratio)
        if self.shaken:
            own = coefficients.coulomb(phi, **wall, seismic_angle=self.seismic_angle)
        else:
            own, still = still, +still  # a value of its own, by its own symbol
        return LayerCoefficients(own, still, held, straight, slip)


def profile_thrust(profile: WallProfile) -> dict[str, Numeric]:
    """Thrust from pressure against depth, by the names of the values; ``total`` is the thrust with
    shaking [kN/m], and the pressures are those of one soil.
    """
    check, ground, cut = profile.check, profile.ground, profile.cracks
    load = profile.surcharge_stress
    layers = tuple(zip(profile.layers, ground.sums, profile.coefficients, strict=True))
    laws = profile.laws()
    still = thrust_of(laws, ground, cut=cut)
    increment: Numeric = 0.0
    together = still.force
    if profile.shaken:
        shaken = thrust_of(profile.straight_laws(shaken=True), ground, cut=cut).force
        straight, together = still.force, shaken
        if profile.curved:
            straight = thrust_of(profile.straight_laws(shaken=False), ground, cut=cut).force
            together = still.force + (shaken - straight)
        increment = shaken - straight
    with np.errstate(divide="ignore", invalid="ignore"):
        height = still.moment / still.force
    top, table, base = still.pressures[0] if len(layers) == 1 else (np.nan, np.nan, np.nan)
    adhesion = check.wall_adhesion
    if check.theory == "annex_c":
        tan_delta = np.tan(np.radians(check.wall_friction_angle))
        adhesion = uniform(
            [one.soil.strength.cohesion * tan_delta / one.soil.strength.tan_friction_angle
             for one in profile.layers]
        )  # fmt: skip
    return {
        "weight_thrust": total(
            one.still * (stress_sum - load * layer.thickness) for layer, stress_sum, one in layers
        ),
        "surcharge_thrust": total(one.still * load * layer.thickness for layer, _, one in layers),
        "static_thrust": still.force,
        "seismic_thrust": increment,
        "total": together,
        "static_thrust_height": height,
        "tension_crack_depth": still.tension_depth if check.side == "active" else 0.0,
        "tension_stress": uniform(still.zero_stress) if check.side == "active" else np.nan,
        "coefficient": uniform([one.weight for one in profile.coefficients]),
        "static_coefficient": uniform([one.still for one in profile.coefficients]),
        "cohesion_coefficient": uniform([one.cohesion for one in profile.coefficients]),
        "adhesion_force": adhesion * check.height / np.cos(np.radians(check.wall_batter)),
        "pressure_at_top": top,
        "pressure_at_water": table,
        "pressure_at_base": base,
    }


def _layers(check: EarthPressureInputs) -> tuple[Layer, ...]:
    if check.soil is None:
        return tuple(check.layers)
    return (Layer(soil=check.soil, thickness=check.height),)


def uniform(by_layer: Sequence[Numeric]) -> Numeric:
    """The value that all layers share; nan where they differ."""
    first = by_layer[0]
    for one in by_layer[1:]:
        first = np.where(np.abs(one - by_layer[0]) <= _SAME * np.abs(by_layer[0]), first, np.nan)
    return first
