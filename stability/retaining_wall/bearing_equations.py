"""Equations of the bearing factors of a wall's base, by method and by case.

What they say in text is computed in :mod:`stability.retaining_wall.bearing_factors`; the base
is a strip, for which m = 2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from slipmargin.stability.fields import Follows

__all__ = ["BaseLoad", "bearing_equations", "inclination_equations"]

_N = "Prandtl (1921), Reissner (1924)"
_SOURCE = {
    "vesic": "Vesić (1973), (1975)",
    "meyerhof": "Meyerhof (1963)",
    "annex_d": "EN 1997-1:2004, Annex D",
}
_N_WEIGHT = {
    "vesic": "2 * (N_q + 1) * tan(φ′_2)",
    "meyerhof": "(N_q - 1) * tan(1.4 * φ′_2)",
    "annex_d": "2 * (N_q - 1) * tan(φ′_2)",
}
_BELOW_THE_POLE = 60.0
_FULL_FRICTION = 10.0
_HELD_FROM = 89.0  # where exp(π tan φ) leaves the numbers that can be worked with


def bearing_equations(
    method: str, friction_angle: float, depth_over_width: float | None
) -> dict[str, Follows]:
    """The N and the depth factors.

    Parameters
    ----------
    method
        ``vesic``, ``meyerhof`` or ``annex_d``.
    friction_angle
        φ′ of the foundation [deg].
    depth_over_width
        D / B [-]; ``None`` where depth factors are left out.
    """
    phi, source = friction_angle, _SOURCE[method]
    n_weight = _N_WEIGHT[method]
    if method == "meyerhof" and phi > _BELOW_THE_POLE:
        n_weight = "(N_q - 1) * tan(1.4 * 60)"
    n_q = Follows("exp(π * tan(φ′_2)) * tan(45 + φ′_2 / 2)^2", _N)
    if phi > _HELD_FROM:
        n_q = Follows(
            words="Held where the exponential leaves the numbers that can be worked with."
        )
    n_c = Follows("(N_q - 1) / tan(φ′_2)" if phi > 0.0 else "π + 2", _N)
    found = {
        "bearing_factor_overburden": n_q,
        "bearing_factor_cohesion": n_c,
        "bearing_factor_weight": Follows(n_weight, source),
    }
    if method == "annex_d" or depth_over_width is None:
        words = "This method has none." if method == "annex_d" else "1: depth factors are left out."
        none = Follows(words=words, source=source if method == "annex_d" else "")
        names = ("overburden", "cohesion", "weight")
        return found | {f"depth_factor_{name}": none for name in names}
    if method == "meyerhof":
        share = "" if phi >= _FULL_FRICTION else " * φ′_2 / 10"
        gain = Follows(f"1 + 0.1 * tan(45 + φ′_2 / 2) * D / B{share}", source)
        return found | {
            "depth_factor_overburden": gain,
            "depth_factor_cohesion": Follows("1 + 0.2 * tan(45 + φ′_2 / 2) * D / B", source),
            "depth_factor_weight": gain,
        }
    k = "D / B" if depth_over_width <= 1.0 else "π / 180 * atan(D / B)"
    d_c = "d_q + (d_q - 1) / (N_q - 1)" if phi > 0.0 else f"1 + 0.4 * {k}"
    return found | {
        "depth_factor_overburden": Follows(f"1 + 2 * tan(φ′_2) * (1 - sin(φ′_2))^2 * {k}", source),
        "depth_factor_cohesion": Follows(d_c, source),
        "depth_factor_weight": Follows(words="This method takes it as 1.", source=source),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseLoad:
    """The load on a base in numbers and in symbols.

    Parameters
    ----------
    vertical, horizontal
        [kN/m].
    held
        B′ c′ [kN/m].
    load, push, width, mark
        Symbols of the vertical and the horizontal load and of the effective width; end of the
        factors' symbols.
    """

    vertical: float
    horizontal: float
    held: float
    load: str = "V"
    push: str = "T"
    width: str = "B′"
    mark: str = ""


def inclination_equations(
    method: str, friction_angle: float, base: BaseLoad
) -> tuple[Follows, Follows, Follows]:
    """The inclination factors of overburden, cohesion and weight."""
    if base.horizontal <= 0.0:
        return (Follows(words="1: nothing pushes along the base."),) * 3
    if base.vertical <= 0.0:
        return (Follows(words="0: nothing presses on the base."),) * 3
    if method == "meyerhof":
        return _by_angle(friction_angle, base)
    source = _SOURCE[method]
    if friction_angle == 0.0:
        return _without_friction(method, base)
    share = f"{base.push} / ({base.load} + {base.width} * c′_2 / tan(φ′_2))"
    cot = 1.0 / math.tan(math.radians(friction_angle))
    if base.horizontal >= base.vertical + base.held * cot:
        return (Follows(words="0: the base slides before.", source=source),) * 3
    i_q, n_q = f"i_q{base.mark}", "(N_q - 1)"
    return (
        Follows(f"(1 - {share})^2", source),
        Follows(f"max({i_q} - (1 - {i_q}) / {n_q}, 0)", source),
        Follows(f"(1 - {share})^3", source),
    )


def _by_angle(friction_angle: float, base: BaseLoad) -> tuple[Follows, Follows, Follows]:
    source = _SOURCE["meyerhof"]
    angle = f"atan({base.push} / {base.load})"
    steep = Follows(f"(1 - {angle} / 90)^2", source)
    if friction_angle == 0.0:
        return steep, steep, Follows(words="0: there is no friction.", source=source)
    return steep, steep, Follows(f"max(1 - {angle} / φ′_2, 0)^2", source)


def _without_friction(method: str, base: BaseLoad) -> tuple[Follows, Follows, Follows]:
    source = _SOURCE[method]
    if base.held <= 0.0:
        return (Follows(words="0: nothing holds along the base.", source=source),) * 3
    one = Follows(words="1: there is no friction.", source=source)
    if base.horizontal > base.held:
        return one, Follows(words="0: the base slides before.", source=source), one
    taken = f"{base.push} / ({base.width} * c′_2)"
    by_annex = f"(1 + sqrt(1 - {taken})) / 2"
    i_c = by_annex if method == "annex_d" else f"1 - 2 * {taken} / (π + 2)"
    return one, Follows(i_c, source), one
