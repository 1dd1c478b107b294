"""Equations of a planar wedge for the case at hand: a given plane, a tension crack, a ground
line, a curved envelope, a block without strength or without drive.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipmargin.stability.fields import Follows

if TYPE_CHECKING:
    from slipmargin.stability.planar_wedge.check import PlanarWedge
    from slipmargin.stability.planar_wedge.values import PlanarWedgeValues

__all__ = ["planar_equations"]

_LEAST_STRESS = 1e-3  # of a tangent to a curve [kPa]
_OPEN = "Terzaghi (1943), Theoretical Soil Mechanics (from memory)"
_AT_FACE = 0.01  # nearer to the face than this the digits shown do not tell the plane from it [deg]


def planar_equations(check: PlanarWedge, values: PlanarWedgeValues) -> dict[str, Follows]:
    """How values follow in the case at hand, by field name; scalars only."""
    found: dict[str, Follows] = {}
    if check.plane_angle is not None:
        found["plane_angle"] = Follows("ψ_p")
    if check.tension_crack_distance is not None:
        found["tension_crack_distance"] = Follows("b")
    if check.search_tension_crack:
        found |= _deepest_crack(check)
    if check.tension_crack_water_depth == "full":
        found["crack_water_depth"] = Follows("z")
    if check.ground_line is not None:
        measured = ("crest_distance", "plane_run", "tension_crack_depth", "block_area")
        found |= {name: Follows() for name in measured}
        found["loaded_length"] = Follows("max(x_p - x_c, 0)")
    elif values.tension_crack_depth > 0.0:
        found["plane_run"] = Follows("x_c + b_c")
        found["block_area"] = Follows(
            "(x_c * H + b_c * (2 * H + b_c * tan(ψ_s)) - x_p^2 * tan(ψ)) / 2"
        )
    elif check.face_angle is not None and check.face_angle - values.plane_angle < _AT_FACE:
        vanishes = Follows(words="Of a block that vanishes: the plane falls into the face.")
        names = ("plane_run", "base_length", "block_area", "uplift")
        found |= dict.fromkeys(names, vanishes)
    elif values.plane_angle - check.upper_slope_angle < _AT_FACE:
        found["plane_run"] = Follows(words="Of a plane that falls into the upper slope.")
    return found | _strength(check, values)


def _deepest_crack(check: PlanarWedge) -> dict[str, Follows]:
    """What holds a searched crack open, with the water that stands in it."""
    if check.ground_line is not None:
        return {"deepest_crack": Follows(words="Of the crest of the ground line.")}
    if check.soil.strength.curve is not None:
        return {"deepest_crack": Follows(words="By the chord of the curved envelope.")}
    dry, pressed = "2 * c′ / γ * tan(45 + φ′ / 2)", "γ_w / γ * tan(45 + φ′ / 2)^2"
    phi = np.radians(45.0 + 0.5 * np.asarray(check.soil.strength.friction_angle))
    held = np.asarray(check.water_unit_weight) / check.soil.unit_weight * np.tan(phi) ** 2
    brim_full = f"{dry} / (1 - {pressed})"
    water = check.tension_crack_water_depth
    if water == "full":
        open_to = [brim_full] if held < 1.0 else []
    elif water > 0.0:
        open_to = [f"{dry} + {pressed} * z_w"] + ([brim_full] if held < 1.0 else [])
    else:
        open_to = [dry]
    if not open_to:
        return {"deepest_crack": Follows("H / 2")}
    return {"deepest_crack": Follows(f"min({', '.join([*open_to, 'H / 2'])})", _OPEN)}


def _strength(check: PlanarWedge, values: PlanarWedgeValues) -> dict[str, Follows]:
    found: dict[str, Follows] = {}
    held = "max(c′ * L + N′ * tan(φ′), 0)"
    if check.soil.strength.curve is not None:
        held = "L * A_e * p_a * (σ′ / p_a)^m_e"
        if not values.effective_normal_stress > _LEAST_STRESS:
            held = ""
        tangent = "By the tangent to the curved envelope at no stress."
        found["shear_strength_force"] = Follows(held, words=tangent)
    elif values.shear_strength_force == 0.0:
        found["shear_strength_force"] = Follows(held)
    if not values.driving_force > 0.0:
        found["factor_of_safety"] = Follows(words="Nothing drives the block.")
    return found
