"""Infinite slope: a layer sliding on a plane parallel to a long, even surface.

Assumptions: the slope is long against the depth of the plane, so that every vertical
column carries the same forces and the ends do nothing; the soil above the plane is one
layer; seepage is steady, with straight flow lines at one angle.

Limits: says nothing about a slope of short height, where a wedge or a rotation governs.
A negative effective normal stress means that the water lifts the layer; the factor is
then not meaningful.

Per unit plan area, with W the weight of the column and the surcharge on it, and W_k what
of it shakes:

    σ = W cos²β - k_h W_k sin β cos β        total normal stress on the plane
    τ = W sin β cos β + k_h W_k cos²β        shear stress on the plane
    u = γ_w h_w / (1 + tan β tan θ)          pore pressure, flow lines at θ below horizontal
    F = (c′ + c_r + (σ - u) tan φ′) / τ

W_k is W, but below still water: there W is buoyant and the water in the pores shakes with
the grains, so that W_k is the saturated weight.

Sources: Taylor (1948), Fundamentals of Soil Mechanics, ch. 16, for the dry slope and flow
parallel to it; the pore pressure for inclined flow follows from equipotentials at right
angles to the flow lines; a horizontal pseudo-static force as in Newmark (1965),
Géotechnique 15(2).
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult, target_notices
from slipmargin.stability.fields import Follows, amount, given
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.infinite_slope.equations import infinite_slope_equations
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Notice, Numeric

__all__ = ["InfiniteSlope", "InfiniteSlopeValues"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class InfiniteSlope:
    """Inputs of an infinite slope; scalars or arrays that broadcast.

    ``evaluate`` raises ``InputError`` where a field lies outside its declared limits.

    Examples
    --------
    Dry sand stands up to its friction angle:

    >>> import numpy as np
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=np.array([20.0, 25.0, 30.0]), depth=2.0)
    >>> slope.evaluate().lowest.round(2).tolist()
    [1.59, 1.24, 1.0]
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding",)

    soil: Soil = fields.soil("Soil above and on the slip plane.", along_curve=True)
    slope_angle: Numeric = amount(
        "ground_angle", "β", "Angle of the ground and of the slip plane.", above=0.0, below=90.0
    )
    depth: Numeric = amount(
        "length", "d", "Vertical depth of the slip plane.", above=0.0, usual=fields.USUAL_HEIGHT
    )
    water_table_depth: Numeric | None = amount(
        "length", "d_w", "Vertical depth of the water table; none is dry.", default=None, low=0.0
    )
    seepage_angle: Numeric | None = amount(
        "ground_angle",
        "θ",
        "Angle of the flow lines below horizontal; parallel to the slope by default.",
        default=None,
        low=0.0,
        below=90.0,
    )
    surcharge: Numeric = amount("stress", "q", "Load on plan area.", default=0.0, low=0.0)
    root_cohesion: Numeric = amount(
        "stress", "c_r", "Cohesion that roots add on the plane.", default=0.0, low=0.0
    )
    horizontal_seismic_coefficient: Numeric = amount(
        "ratio", "k_h", "Horizontal force over weight, outward.", default=0.0, low=0.0, high=1.0
    )
    submerged: bool = fields.flag(
        "Still water stands over the whole slope: buoyant weight, no flow; all of it shakes.",
        default=False,
    )
    water_unit_weight: Numeric = amount(
        "unit_weight", "γ_w", "Unit weight of water.", default=9.81, above=0.0, everywhere=True
    )
    target: Numeric | None = amount(
        "ratio", "F_t", "Factor of safety asked for.", default=None, above=0.0
    )

    def evaluate(self) -> CheckResult:
        """Factor of safety against sliding on the plane."""
        values = self._ready()
        if self.soil.strength.curve is not None:
            values = dataclasses.replace(values, **_along_curve(self))
        factors = {"sliding": values.factor_of_safety}
        return CheckResult(
            factors_of_safety=factors, values=values, notices=self._notices(values, factors)
        )

    def factors_alone(self) -> dict[str, Numeric]:
        """Factors by limit state without notices and design values found by a search.

        Raises
        ------
        InputError
            As ``evaluate``.
        """
        return {"sliding": self._ready().factor_of_safety}

    def _ready(self) -> InfiniteSlopeValues:
        """All that needs no search, from fields held against their limits and each other."""
        fields.validate(self)
        wet = self.water_table_depth is not None
        if self.submerged and wet:
            raise InputError(
                "water_table_depth",
                self.water_table_depth,
                "leave it out where submerged is true: the water then stands over the slope",
            )
        if self.seepage_angle is not None and not wet:
            raise InputError(
                "seepage_angle", self.seepage_angle, "allowed only beside a water_table_depth"
            )
        return infinite_slope(self)

    def follow(self, found: InfiniteSlopeValues) -> InfiniteSlopeValues:
        """The values again, with what a search found taken from ``found``."""
        values = infinite_slope(self)
        if self.soil.strength.curve is None:
            return values
        searched = ("yield_seismic_coefficient", "critical_depth", "critical_water_table_depth")
        return dataclasses.replace(values, **{name: getattr(found, name) for name in searched})

    def _notices(
        self, values: InfiniteSlopeValues, factors: dict[str, Numeric]
    ) -> tuple[Notice, ...]:
        notices = [
            *self.soil.strength.caveats,
            *rare_values(self),
            *target_notices(factors, self.target),
        ]
        lifted = np.any(np.asarray(values.effective_normal_stress) <= 0.0)
        if lifted:
            notices.append(
                Notice.stop(
                    "no-effective-stress",
                    "Water (or shaking) carries the whole weight of the layer: the effective "
                    "normal stress on the plane is zero or less and friction does nothing.",
                )
            )
        notices += surcharge_notices(self, factors)
        if self.seepage_angle is not None and np.any(
            np.asarray(self.seepage_angle) > np.asarray(self.slope_angle)
        ):
            notices.append(
                Notice.caution(
                    "seepage-into-the-slope",
                    "The water is taken to flow downward into the slope, which lowers its "
                    "pressure: counted on only where drainage below is known to work.",
                )
            )
        below_water = self.submerged or np.any(np.asarray(values.water_height) > 0.0)
        notices += self.soil.saturation_notices(bool(below_water))
        notices += self.soil.stress_range_notices(
            values.effective_normal_stress, "on the slip plane"
        )
        if np.any(np.asarray(self.root_cohesion) > 0.0):
            notices.append(
                Notice.caution(
                    "root-cohesion-counted",
                    "Root cohesion is counted on. Roots reach a metre or two at most, and fire, "
                    "felling or drought takes them away.",
                )
            )
        if np.any(np.asarray(self.horizontal_seismic_coefficient) > 0.0):
            notices.append(
                Notice.info(
                    "pseudo-static",
                    "Shaking is a constant force here; loss of strength and displacement are "
                    "not covered.",
                )
            )
        if not below_water:
            notices.append(
                Notice.caution(
                    "no-water-assumed",
                    "No water is in this check. Most shallow slides come with rain; run a wet "
                    "case as well.",
                )
            )
        return tuple(notices)


_ROOT = "Found by a search: the depth or the shaking is varied until the factor is met."


@dataclass(frozen=True, slots=True, kw_only=True)
class InfiniteSlopeValues:
    """Intermediates of an infinite slope."""

    water_height: Numeric = given(
        "m", "h_w", "Height of water above the plane.", "d - min(d_w, d)", hangs_on=("h_w",)
    )
    column_weight: Numeric = given(
        "kPa",
        "W",
        "Weight over unit plan area, surcharge included.",
        "γ * (d - h_w) + γ_sat * h_w + q",
    )
    normal_stress: Numeric = given(
        "kPa", "σ", "Total normal stress on the plane.", "W * cos(β)^2 - k_h * W * sin(β) * cos(β)"
    )
    shear_stress: Numeric = given(
        "kPa", "τ", "Shear stress on the plane.", "W * sin(β) * cos(β) + k_h * W * cos(β)^2"
    )
    flow_angle: Numeric = given(
        "deg",
        "θ",
        "Angle of the flow lines below horizontal: that of the slope unless given.",
        "β",
        hangs_on=("h_w",),
    )
    pore_pressure: Numeric = given(
        "kPa",
        "u",
        "Pore pressure on the plane.",
        "γ_w * h_w / (1 + tan(β) * tan(θ))",
        hangs_on=("h_w",),
    )
    effective_normal_stress: Numeric = given("kPa", "σ′", "Effective normal stress.", "σ - u")
    shear_strength: Numeric = given(
        "kPa",
        "τ_f",
        "Strength on the plane, roots included.",
        "max(c′ + c_r + σ′ * tan(φ′), 0)",
    )
    factor_of_safety: Numeric = given("", "F", "Factor of safety against sliding.", "τ_f / τ")
    yield_seismic_coefficient: Numeric = given(
        "",
        "k_y",
        "Horizontal coefficient at which the factor is 1.",
        "(c′ + c_r + (W * cos(β)^2 - u) * tan(φ′) - W * sin(β) * cos(β))"
        " / (W * cos(β) * (cos(β) + sin(β) * tan(φ′)))",
        origin=_ROOT,
    )
    required_friction_angle: Numeric = given(
        "deg",
        "φ_req",
        "Friction angle that meets the target, cohesion held; none or no target: nan.",
        "atan(max(F_t * τ - c′ - c_r, 0) / σ′)",
    )
    required_cohesion: Numeric = given(
        "kPa",
        "c_req",
        "Cohesion that meets the target, friction angle held; no target: nan.",
        "max(F_t * τ - max(σ′, 0) * tan(φ′) - c_r, 0)",
    )
    spare_strength: Numeric = given(
        "",
        "s",
        "Friction less the drive that meets the target (without one 1), over the weight, dry.",
        "(σ * tan(φ′) - F_t * τ) / W",
    )
    critical_depth: Numeric = given(
        "m",
        "d_crit",
        "Depth of plane at which the factor falls to the target, without one to 1; never: nan.",
        "-(c′ + c_r + q * s) / (γ * s)",
        origin=_ROOT,
    )
    critical_water_table_depth: Numeric = given(
        "m",
        "d_wc",
        "Water table depth at which the factor falls to the target, without one to 1; none: nan.",
        origin=_ROOT,
    )

    def equations(self, check: InfiniteSlope) -> dict[str, Follows]:
        """How the values follow with water, without a target, below still water, on a curve."""
        return infinite_slope_equations(check, self)


def infinite_slope(slope: InfiniteSlope) -> InfiniteSlopeValues:
    """The pure computation: every field a scalar or an array that broadcasts.

    Where no target is given, no strength is required, and the other values that need one take 1.
    """
    soil, strength = slope.soil, slope.soil.strength
    beta = np.radians(slope.slope_angle)
    sin, cos = np.sin(beta), np.cos(beta)
    tan_phi = strength.tan_friction_angle
    k_h = slope.horizontal_seismic_coefficient
    depth = slope.depth
    asked = slope.target is not None
    target = 1.0 if slope.target is None else slope.target

    table = depth if slope.water_table_depth is None else np.minimum(slope.water_table_depth, depth)
    height = depth - table
    theta = beta if slope.seepage_angle is None else np.radians(slope.seepage_angle)
    pressure_per_height = slope.water_unit_weight / (1.0 + np.tan(beta) * np.tan(theta))

    above, below = soil.unit_weight, soil.weight_below_water
    if slope.submerged:
        above = below = soil.weight_below_water - slope.water_unit_weight
    weight = above * table + below * height + slope.surcharge
    floating = _floating(slope)
    shaken = weight + floating * depth

    normal = weight * cos**2 - k_h * shaken * sin * cos
    shear = weight * sin * cos + k_h * shaken * cos**2
    pore = pressure_per_height * height
    effective = normal - pore
    strength_on_plane = np.maximum(strength.shear_strength(effective) + slope.root_cohesion, 0.0)

    held = strength.cohesion + slope.root_cohesion
    with np.errstate(divide="ignore", invalid="ignore"):
        tan_needed = np.maximum(target * shear - held, 0.0) / effective
        yield_k = (held + (weight * cos**2 - pore) * tan_phi - weight * sin * cos) / (
            shaken * cos * (cos + sin * tan_phi)
        )
        # strength left over on a plane at depth d is piecewise linear in d
        per_shaking = k_h * (sin * cos * tan_phi + target * cos**2)
        spare_per_weight = cos**2 * tan_phi - target * sin * cos - per_shaking
        spare_at_top = held + slope.surcharge * spare_per_weight
        rate_above = above * spare_per_weight - floating * per_shaking
        rate_below = below * spare_per_weight - pressure_per_height * tan_phi
        table_given = np.inf if slope.water_table_depth is None else slope.water_table_depth
        in_dry = np.where(rate_above < 0.0, -spare_at_top / rate_above, np.inf)
        finite_table = np.where(np.isfinite(table_given), table_given, 0.0)
        spare_at_table = spare_at_top + rate_above * finite_table
        in_wet = np.where(
            np.isfinite(table_given) & (rate_below < 0.0) & (spare_at_table >= 0.0),
            finite_table - spare_at_table / rate_below,
            np.inf,
        )
        critical_depth = np.where(in_dry <= table_given, in_dry, in_wet)
        critical_depth = np.where(spare_at_top < 0.0, 0.0, critical_depth)
        # and linear in the depth of the water table
        spare_flooded = held + (below * depth + slope.surcharge) * spare_per_weight
        spare_flooded = spare_flooded - pressure_per_height * depth * tan_phi
        spare_dry = held + (above * depth + slope.surcharge) * spare_per_weight
        critical_table = depth * spare_flooded / (spare_flooded - spare_dry)
    crosses = (spare_flooded < 0.0) & (spare_dry >= 0.0) & (not slope.submerged)

    return InfiniteSlopeValues(
        water_height=height,
        column_weight=weight,
        normal_stress=normal,
        shear_stress=shear,
        flow_angle=np.degrees(theta) if slope.water_table_depth is not None else np.nan,
        pore_pressure=pore,
        effective_normal_stress=effective,
        shear_strength=strength_on_plane,
        factor_of_safety=strength_on_plane / shear,
        yield_seismic_coefficient=yield_k,
        required_friction_angle=np.where(
            asked & (effective > 0.0), np.degrees(np.arctan(tan_needed)), np.nan
        ),
        required_cohesion=np.where(
            asked,
            np.maximum(
                target * shear - np.maximum(effective, 0.0) * tan_phi - slope.root_cohesion, 0.0
            ),
            np.nan,
        ),
        spare_strength=spare_per_weight,
        critical_depth=np.where(np.isfinite(critical_depth), critical_depth, np.nan),
        critical_water_table_depth=np.where(crosses, critical_table, np.nan),
    )


def _floating(slope: InfiniteSlope) -> Numeric:
    """Unit weight that buoyancy carries but that shakes all the same: water in the pores."""
    return slope.water_unit_weight if slope.submerged else 0.0


def _along_curve(slope: InfiniteSlope) -> dict[str, Numeric]:
    """Design values of a curved envelope, by root of the factor itself.

    A curve has no cohesion or angle of its own to ask for, so these are nan.
    """
    level = np.asarray(1.0 if slope.target is None else slope.target, dtype=float)
    now = infinite_slope(slope)
    shape = np.broadcast_shapes(np.shape(now.factor_of_safety), level.shape)
    nothing = np.full(shape, np.nan)[()]
    # a push into the slope of W tan β leaves nothing to drive the layer
    share = now.column_weight / (now.column_weight + _floating(slope) * np.asarray(slope.depth))
    inward = -0.999999 * np.tan(np.radians(slope.slope_angle)) * share
    table = nothing
    if not slope.submerged:
        table = _root(slope, "water_table_depth", level, (0.0, slope.depth), shape)
    return {
        "required_friction_angle": nothing,
        "required_cohesion": nothing,
        "spare_strength": nothing,
        "yield_seismic_coefficient": _root(
            slope, "horizontal_seismic_coefficient", 1.0, (inward, 2.0), shape
        ),
        "critical_depth": _root(slope, "depth", level, (1e-6, 1e4), shape),
        "critical_water_table_depth": table,
    }


_HALVINGS = 100


def _root(
    slope: InfiniteSlope,
    field: str,
    level: Numeric,
    between: tuple[Numeric, Numeric],
    shape: tuple[int, ...],
) -> NDArray[np.float64]:
    """Value of one field at which the factor is a level; nan where there is none between.

    By halving, with every slope in every step: any of the inputs may be an array.
    """

    def gap(value: Floats) -> Floats:
        moved: Any = dataclasses.replace(slope, **{field: value})  # type: ignore[arg-type]
        return np.broadcast_to(infinite_slope(moved).factor_of_safety - level, shape)

    low, high = (np.broadcast_to(np.asarray(end, dtype=float), shape) for end in between)
    at_low = gap(low)
    crossed = at_low * gap(high) <= 0.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        near = gap(middle) * at_low > 0.0
        low, high = np.where(near, middle, low), np.where(near, high, middle)
    return np.where(crossed, high, np.nan)[()]
