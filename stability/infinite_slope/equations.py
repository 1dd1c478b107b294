"""Equations of an infinite slope for the case at hand: water, still water over the slope, no
target, a curved envelope.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from slipmargin.stability.fields import Follows

if TYPE_CHECKING:
    from slipmargin.stability.infinite_slope.check import InfiniteSlope, InfiniteSlopeValues

__all__ = ["infinite_slope_equations"]

_NO_TARGET = {
    "spare_strength": "(σ * tan(φ′) - τ) / W",
}
_SHAKEN = "(γ_sat * d + q)"
_PER_SHAKING = "(sin(β) * cos(β) * tan(φ′) + F_t * cos(β)^2)"


def infinite_slope_equations(
    check: InfiniteSlope, values: InfiniteSlopeValues
) -> dict[str, Follows]:
    """How values follow in the case at hand, by field name; scalars only."""
    found: dict[str, str] = {}
    if check.target is None:
        found |= _NO_TARGET
    if check.submerged:
        found["column_weight"] = "(γ_sat - γ_w) * d + q"
        found |= _shaken_below_water(check)
    if check.soil.strength.curve is not None:
        found["shear_strength"] = "A_e * p_a * (max(σ′, 0) / p_a)^m_e + c_r"
        searched = ("critical_depth", "critical_water_table_depth", "yield_seismic_coefficient")
        return (
            {name: Follows(equation) for name, equation in found.items()}
            | {name: Follows() for name in searched}
            | _flow(check)
        )
    return (
        {name: Follows(equation) for name, equation in found.items()}
        | _flow(check)
        | _critical(check, values)
    )


def _shaken_below_water(check: InfiniteSlope) -> dict[str, str]:
    """Equations in which the saturated weight shakes while the buoyant weight presses."""
    pressing = "c′ + c_r + W * cos(β)^2 * tan(φ′) - W * sin(β) * cos(β)"
    spare = f"cos(β)^2 * tan(φ′) - F_t * sin(β) * cos(β) - k_h * {_PER_SHAKING}"
    return {
        "normal_stress": f"W * cos(β)^2 - k_h * {_SHAKEN} * sin(β) * cos(β)",
        "shear_stress": f"W * sin(β) * cos(β) + k_h * {_SHAKEN} * cos(β)^2",
        "yield_seismic_coefficient": f"({pressing}) / "
        f"({_SHAKEN} * cos(β) * (cos(β) + sin(β) * tan(φ′)))",
        "spare_strength": _for_target(check, spare),
    }


def _for_target(check: InfiniteSlope, equation: str) -> str:
    """The equation with a factor of 1 asked for where no target is given."""
    return equation if check.target is not None else equation.replace("F_t * ", "")


def _flow(check: InfiniteSlope) -> dict[str, Follows]:
    return {} if check.seepage_angle is None else {"flow_angle": Follows(words="As given.")}


def _critical(check: InfiniteSlope, values: InfiniteSlopeValues) -> dict[str, Follows]:
    # a dry slope is flooded by flow along it
    tangents = "tan(β)^2" if check.water_table_depth is None else "tan(β) * tan(θ)"
    if values.water_height == 0.0 and check.seepage_angle is None:
        tangents = "tan(β)^2"
    lost = f"γ_w / (1 + {tangents}) * tan(φ′)"
    flooded = f"c′ + c_r + (γ_sat * d + q) * s - d * {lost}"
    found = {"critical_water_table_depth": Follows(f"({flooded}) / ((γ_sat - γ) * s - {lost})")}
    if values.critical_depth == 0.0:
        found["critical_depth"] = Follows(words="0: the surcharge alone is not held.")
    elif check.submerged:
        below = "(γ_sat - γ_w) * s"
        if check.horizontal_seismic_coefficient > 0.0:
            below += f" - γ_w * k_h * {_for_target(check, _PER_SHAKING)}"
        found["critical_depth"] = Follows(f"-(c′ + c_r + q * s) / ({below})")
    elif check.water_table_depth is not None and values.critical_depth > check.water_table_depth:
        found["critical_depth"] = Follows(
            f"d_w - (c′ + c_r + (q + γ * d_w) * s) / (γ_sat * s - {lost})"
        )
    return found
