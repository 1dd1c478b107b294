"""The wall of an earth pressure check as arrays of one shape, and the pressure law it follows.

The body force below water is that of the saturated weight over the buoyant, averaged over
the wedge: tan ψ = k_h Σσ_v / ((1 - k_v) Σσ′_v) down the wall, which is exact for the wedge
behind a vertical wall under level ground (Ebeling & Morrison 1992, USACE ITL-92-11,
restrained water, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.earth_pressure import coefficients
from slipmargin.stability.earth_pressure.profile import (
    ConjugateLaw,
    Layer,
    LinearLaw,
    Overburden,
    PressureLaw,
    layer_overburden,
)
from slipmargin.strength import Numeric

if TYPE_CHECKING:
    from slipmargin.stability.earth_pressure.check import EarthPressure

__all__ = ["WallProfile", "by_piece", "uniform"]

Array = NDArray[np.float64]

_SAME = 1e-12


def _shape(record: Any) -> tuple[int, ...]:
    """Shape to which every quantity of a record, its soils and its parts broadcasts."""
    shapes: list[tuple[int, ...]] = []
    for name, declaration, _ in fields.of(record):
        held = getattr(record, name)
        if held is None:
            continue
        match declaration:
            case fields.Amount():
                shapes.append(np.shape(held))
            case fields.SoilField():
                strength = held.strength
                shapes += [np.shape(strength.cohesion), np.shape(strength.friction_angle)]
                shapes += [np.shape(held.unit_weight), np.shape(held.weight_below_water)]
            case fields.Part(many=many):
                shapes += [_shape(one) for one in (held if many else (held,))]
            case _:
                pass
    return np.broadcast_shapes(*shapes)


@dataclass(frozen=True, slots=True)
class WallProfile:
    """A check's wall as arrays of one shape, and what its layers carry.

    Parameters
    ----------
    check
        The check it was made from.
    layers
        Its layers, or its one soil over the height.
    shape
        Shape of the result.
    ground
        Vertical stress of the soil's weight, two pieces to a layer.
    cohesion, friction_angle
        Of each layer, layers on the leading axis [kPa], [deg].
    surcharge_stress
        Vertical stress at the wall from the surcharge [kPa].
    seismic_angle
        ψ, water included [deg].
    """

    check: EarthPressure
    layers: tuple[Layer, ...]
    shape: tuple[int, ...]
    ground: Overburden
    cohesion: Array
    friction_angle: Array
    surcharge_stress: Array
    seismic_angle: Array

    @classmethod
    def of(cls, check: EarthPressure) -> WallProfile:
        """The profile of a check whose soil and layers have been held against each other."""
        layers = tuple(check.layers)
        if check.soil is not None:
            layers = (Layer(soil=check.soil, thickness=check.height),)
        shape = _shape(check)
        ground = layer_overburden(
            layers,
            water_table_depth=check.water_table_depth,
            water_unit_weight=check.water_unit_weight,
            shape=shape,
        )
        strengths = [layer.soil.strength for layer in layers]
        beta, theta = np.radians(check.backfill_slope_angle), np.radians(check.wall_batter)
        surcharge = np.asarray(
            check.surcharge * np.cos(beta) * np.cos(theta) / np.cos(beta - theta)
        )
        load = surcharge * np.asarray(check.height)
        pressing = ground.effective_sum + load
        # a plane of no height carries nothing
        share = np.where(pressing > 0.0, ground.total_sum + load, 1.0) / np.where(
            pressing > 0.0, pressing, 1.0
        )
        return cls(
            check,
            layers,
            shape,
            ground,
            np.stack([np.broadcast_to(one.cohesion, shape) for one in strengths]),
            np.stack([np.broadcast_to(one.friction_angle, shape) for one in strengths]),
            np.broadcast_to(surcharge, shape),
            coefficients.seismic_angle(
                check.horizontal_seismic_coefficient * share, check.vertical_seismic_coefficient
            ),
        )

    @property
    def shaken(self) -> bool:
        """Whether any case has a seismic coefficient."""
        given = (
            self.check.horizontal_seismic_coefficient,
            self.check.vertical_seismic_coefficient,
        )
        return any(bool(np.any(np.asarray(one) != 0.0)) for one in given)

    @property
    def wet(self) -> bool:
        """Whether water stands behind the wall in any case."""
        table = self.check.water_table_depth
        return table is not None and bool(np.any(np.asarray(table) < self.check.height))

    @property
    def inclined(self) -> bool:
        """Whether the ground slopes or the back face leans in any case."""
        given = (self.check.backfill_slope_angle, self.check.wall_batter)
        return any(bool(np.any(np.asarray(one) != 0.0)) for one in given)

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
        sloping = bool(np.any(np.asarray(self.check.backfill_slope_angle)))
        return self.check.theory == "rankine" and sloping and bool(np.any(self.cohesion > 0.0))

    def _wedge_angles(self) -> dict[str, Numeric]:
        """Angles of Coulomb's wedge. Rankine's plane is a smooth cut through the fill, on which
        the thrust is parallel to the ground.
        """
        check = self.check
        rankine = check.theory == "rankine"
        return {
            "wall_friction_angle": check.backfill_slope_angle
            if rankine
            else check.wall_friction_angle,
            "wall_batter": check.wall_batter,
            "backfill_slope_angle": check.backfill_slope_angle,
        }

    def coefficient(self, theory: str, psi: Array | float = 0.0) -> Array:
        """Coefficient of the soil's own weight of each layer [-]; with shaking Rankine's is that
        of Mononobe-Okabe on his plane.
        """
        check, phi = self.check, self.friction_angle
        slope = check.backfill_slope_angle
        passive = check.side == "passive"
        if theory == "at_rest":
            return coefficients.at_rest(
                phi,
                overconsolidation_ratio=check.overconsolidation_ratio,
                backfill_slope_angle=slope,
            )
        if theory == "rankine" and not np.any(psi):
            rankine = coefficients.rankine_passive if passive else coefficients.rankine_active
            return rankine(phi, backfill_slope_angle=slope)
        if theory == "annex_c":
            return coefficients.annex_c_passive(
                phi,
                wall_friction_angle=check.wall_friction_angle,
                wall_batter=check.wall_batter,
                backfill_slope_angle=slope,
            )
        coulomb = coefficients.coulomb_passive if passive else coefficients.coulomb_active
        return coulomb(phi, **self._wedge_angles(), seismic_angle=psi)

    def cohesion_coefficient(self) -> Array:
        """Cohesion coefficient of each layer [-]; nan where the pressure is not linear in c."""
        check, phi = self.check, self.friction_angle
        wall = self._wedge_angles()
        if check.theory == "at_rest":
            return np.zeros_like(phi)
        if check.theory == "rankine":
            level = np.asarray(check.backfill_slope_angle) == 0.0
            return np.where(level, coefficients.bell_cohesion(self.coefficient("rankine")), np.nan)
        if check.theory == "annex_c":
            delta, theta = np.radians(check.wall_friction_angle), np.radians(check.wall_batter)
            normal = coefficients.annex_c_surface_load(phi, **wall) - 1.0
            return np.asarray(normal / (np.tan(np.radians(phi)) * np.cos(theta) * np.cos(delta)))
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(self.cohesion > 0.0, check.wall_adhesion / self.cohesion, 0.0)
        if check.side == "passive":
            return coefficients.coulomb_cohesion_passive(phi, **wall, adhesion_ratio=ratio)
        return coefficients.coulomb_cohesion_active(phi, **wall, adhesion_ratio=ratio)

    def slip_line(self) -> tuple[Array, Array, Array, Array]:
        """Annex C's slip line of each layer: angles at ground and wall, turn [deg], and what
        a load on the ground presses on the wall [-].
        """
        check = self.check
        wall = {
            "wall_friction_angle": check.wall_friction_angle,
            "wall_batter": check.wall_batter,
            "backfill_slope_angle": check.backfill_slope_angle,
        }
        line = coefficients.annex_c_slip_line(self.friction_angle, **wall)
        return *line, coefficients.annex_c_surface_load(self.friction_angle, **wall)

    def law(self) -> PressureLaw:
        """Pressure law of the pieces, without shaking."""
        if not self.curved:
            return self.straight_law()
        slope = np.broadcast_to(self.check.backfill_slope_angle, self.shape)
        return ConjugateLaw(
            by_piece(self.cohesion), by_piece(self.friction_angle), slope, -self.sign
        )

    def straight_law(self, psi: Array | float = 0.0, k_v: Numeric = 0.0) -> LinearLaw:
        """Pressure law of the pieces where it is linear in cohesion; in place of Rankine's
        curved one that of Coulomb's wedge on the same plane.
        """
        held = self.cohesion_coefficient()
        if self.curved:
            held = coefficients.coulomb_cohesion_active(self.friction_angle, **self._wedge_angles())
        tension = np.where(self.cohesion > 0.0, self.sign * self.cohesion * held, 0.0)
        return LinearLaw(self.weight_law(psi, k_v).coefficient, self._pieces(tension))

    def weight_law(self, psi: Array | float = 0.0, k_v: Numeric = 0.0) -> LinearLaw:
        """The same without cohesion."""
        value = self.coefficient(self.check.theory, psi) * (1.0 - np.asarray(k_v))
        return LinearLaw(self._pieces(value), np.zeros((2 * len(self.layers), *self.shape)))

    def _pieces(self, by_layer: Array) -> Array:
        return by_piece(np.broadcast_to(by_layer, (len(self.layers), *self.shape)))


def by_piece(by_layer: Array) -> Array:
    """Values by layer, each repeated for the pieces above and below the water."""
    return np.repeat(by_layer, 2, axis=0)


def uniform(by_layer: Array) -> Array:
    """The value that all layers share; nan where they differ."""
    first = by_layer[0]
    same = np.all(np.abs(by_layer - first) <= _SAME * np.abs(first), axis=0)
    return np.where(same, first, np.nan)
