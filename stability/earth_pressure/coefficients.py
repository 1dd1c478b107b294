"""Coefficients of earth pressure: at rest, Rankine, Coulomb, Mononobe-Okabe, Annex C.

Every coefficient K belongs to the soil's own weight, without cohesion, and means the
resultant

    P = ½ γ H² K    (with shaking: ½ γ (1 - k_v) H² K)

H being the height of the wall, measured vertically also where the back face is battered.
The resultant acts at

    at rest, Rankine          parallel to the ground surface
    Coulomb, Mononobe-Okabe   at the wall friction angle δ from the normal of the back face
    Annex C                   likewise, on the passive side

so that Coulomb and Annex C compare number by number. Arguments go by one name throughout,
scalars or arrays that broadcast; where a theory has no answer the coefficient is nan:

    friction_angle             φ′, of the soil [deg]; Annex C: above 0
    side                       ``active`` or ``passive``
    wall_friction_angle        δ [deg]
    wall_batter                θ [deg]
    backfill_slope_angle       β [deg]
    seismic_angle              ψ [deg], see :func:`seismic_angle`; 0 is the static case
    k_h, k_v                   seismic coefficients [-], k_v positive upward and below 1
    adhesion_ratio             a / c, wall adhesion over cohesion, from 0 to 1 [-]
    overconsolidation_ratio    OCR, 1 or more [-]

Signs: wall batter is the angle of the back face from vertical, positive where the fill
rests on the face; the backfill slope is positive where the ground rises from the wall;
wall friction is positive in its usual sense (active: the soil sinks along the wall;
passive: it rises). Shaking acts on the wedge towards the wall on the active side and away
from it on the passive side, whichever is worse.

Sources: Rankine (1857), Phil. Trans. R. Soc. 147; Coulomb (1776); Okabe (1926), J. Japan.
Soc. Civ. Eng. 12(1), and Mononobe & Matsuo (1929), World Eng. Congr. 9, in the general
form of Kramer (1996), Geotechnical Earthquake Engineering, ch. 11 (from memory); Jaky
(1944) and Mayne & Kulhawy (1982), J. Geotech. Eng. Div. 108(6), at rest; EN 1997-1:2004,
9.5.2 and Annex C.2 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slipmargin.strength import Numeric
from slipmargin.strength.traced import sourced

__all__ = [
    "CurvedSlip",
    "at_rest",
    "bell_cohesion",
    "coulomb",
    "coulomb_cohesion",
    "curved_slip",
    "inner_plane_angle",
    "rankine",
    "seismic_angle",
]

_STILL = 0.0  # no shaking
_SHAKEN = "Okabe (1926), Mononobe & Matsuo (1929)"
_AT_REST = "Jaky (1944); Mayne & Kulhawy (1982); slope as in EN 1997-1:2004, 9.5.2"
_ROUND_OFF = 1e-12
_LEAST_ROOM = 1e-9  # of √R below 1, where the passive coefficient grows without end


def rankine(
    friction_angle: Numeric, *, side: str = "active", backfill_slope_angle: Numeric = 0.0
) -> Numeric:
    """Rankine's coefficient [-] on a vertical plane; the thrust is parallel to the ground.

    K = cos β (cos β - r) / (cos β + r) with r = √(cos²β - cos²φ), its signs turned on the passive
    side; nan where |β| > φ.
    """
    phi, cos = np.radians(friction_angle), np.cos(np.radians(backfill_slope_angle))
    sin, root = np.sin(phi), _root(cos**2 - np.cos(phi) ** 2)
    if side == "passive":
        level, sloped = (1.0 + sin) / (1.0 - sin), cos * (cos + root) / (cos - root)
    else:
        level, sloped = (1.0 - sin) / (1.0 + sin), cos * (cos - root) / (cos + root)
    return sourced(np.where(backfill_slope_angle == 0.0, level, sloped), "Rankine (1857)")


def inner_plane_angle(friction_angle: Numeric, *, backfill_slope_angle: Numeric = 0.0) -> Numeric:
    """Angle from vertical of Rankine's inner slip plane, up from the heel [deg].

    η = 45 + β/2 - φ/2 - ½ asin(sin β / sin φ), as in Das, Principles of Foundation
    Engineering, ch. 8 (from memory).
    """
    sin_phi, sin_beta = np.sin(np.radians(friction_angle)), np.sin(np.radians(backfill_slope_angle))
    ratio = np.where(sin_phi > 0.0, sin_beta / np.where(sin_phi > 0.0, sin_phi, 1.0), 0.0)
    turned: Numeric = np.degrees(np.arcsin(np.clip(ratio, -1.0, 1.0)))
    return 45.0 + 0.5 * (backfill_slope_angle - friction_angle - turned)


def _root(square: Numeric) -> Numeric:
    """Square root: zero within round-off below zero, nan beyond it."""
    return np.where(square < -_ROUND_OFF, np.nan, np.sqrt(np.maximum(square, 0.0)))


def seismic_angle(k_h: Numeric, k_v: Numeric) -> Numeric:
    """Angle of the body force from vertical, ψ = atan(k_h / (1 - k_v)) [deg]."""
    return np.degrees(np.arctan2(k_h, 1.0 - k_v))


def coulomb(
    friction_angle: Numeric,
    *,
    side: str = "active",
    wall_friction_angle: Numeric = 0.0,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
    seismic_angle: Numeric = _STILL,
) -> Numeric:
    """Coefficient [-] of Coulomb, with shaking of Mononobe-Okabe.

    K = cos²(φ - θ - ψ) / (cos ψ cos²θ cos(δ + θ + ψ) (1 + √R)²),
    R = sin(φ + δ) sin(φ - β - ψ) / (cos(δ + θ + ψ) cos(β - θ));
    nan where φ < β + ψ (no slope of that angle stands) or the resultant would turn past the
    vertical. On the passive side θ and β turn their signs and (1 - √R)² stands below; nan also
    where R reaches 1 and a slip plane gives no least resistance. There a plane overstates the
    resistance once δ exceeds about φ / 3: see :func:`curved_slip`.
    """
    phi, delta, theta, beta, psi = _radians(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle, seismic_angle
    )
    passive, face, ground = side == "passive", np.cos(theta), np.cos(beta - theta)
    if passive:
        # a wedge is pushed up as one slides down that lies the other way round
        theta, beta = -theta, -beta
    across = np.cos(delta + theta + psi)
    under = np.sin(phi + delta) * np.sin(phi - beta - psi)
    with np.errstate(divide="ignore", invalid="ignore"):
        root = _root(under / (across * ground))
        top = np.cos(phi - theta - psi)
        opened = 1.0 - root if passive else 1.0 + root
        value = top**2 / (np.cos(psi) * face**2 * across * opened**2)
    if passive:
        holds = (root < 1.0 - _LEAST_ROOM) & (top > 0.0)
    else:
        # a face steeper back than the slip plane holds no wedge
        value, holds = np.where(top < 0.0, 0.0, value), np.isfinite(root)
    found = np.where((across > 0.0) & (ground > 0.0) & holds, value, np.nan)
    return sourced(found, "Coulomb (1776)" if seismic_angle is _STILL else _SHAKEN)


def bell_cohesion(coefficient: Numeric, adhesion_ratio: Numeric = 0.0) -> Numeric:
    """Cohesion coefficient [-] of level ground and a vertical wall: K_c = 2 √(K (1 + a / c)).

    Exact for a smooth wall, Bell (1915), Min. Proc. Inst. Civ. Eng. 199 (from memory). With
    wall friction and adhesion an approximation, as in Smith, Elements of Soil Mechanics,
    where K is the horizontal part of Coulomb's coefficient.
    """
    return sourced(2.0 * np.sqrt(coefficient * (1.0 + adhesion_ratio)), "Bell (1915)")


def coulomb_cohesion(
    friction_angle: Numeric,
    *,
    side: str = "active",
    wall_friction_angle: Numeric = 0.0,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
    adhesion_ratio: Numeric = 0.0,
) -> Numeric:
    """Cohesion coefficient K_c [-] of Coulomb's wedge: cohesion takes c H K_c off the thrust, or
    adds it to the resistance.

    The least that cohesion c on the plane and adhesion a on the wall can take off or add, over
    all slip planes. The plane that governs weight is another one, so K ½ γ H² ∓ K_c c H lies
    on the safe side of the wedge with both. In closed form, with η = φ + θ + δ - β,
    k = cos φ cos(β - θ), n = (a / c) cos δ and s = √(k (k + n cos η)):

    K_c cos θ = (2 k + n cos η) / (1 + sin η) - k n² / (s + k)² + (a / c) sin δ;
    smooth, vertical and level it is Bell's 2 √K; φ and δ turn their signs on the passive side.
    nan where no plane exists.
    """
    phi, delta, theta, beta = _radians(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle
    )
    passive = side == "passive"
    eta = theta - phi - delta - beta if passive else phi + theta + delta - beta
    on_plane = np.cos(phi) * np.cos(beta - theta)
    on_wall, along_wall = adhesion_ratio * np.cos(delta), adhesion_ratio * np.sin(delta)
    least = np.sqrt(on_plane * np.maximum(on_plane + on_wall * np.cos(eta), 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        value = (2.0 * on_plane + on_wall * np.cos(eta)) / (1.0 + np.sin(eta))
        value = value - on_plane * on_wall**2 / (least + on_plane) ** 2
        value = value - along_wall if passive else value + along_wall
        value = value / np.cos(theta)
    return np.where((np.abs(eta) < 0.5 * np.pi) | (eta > 0.0), value, np.nan)


def _radians(*angles: Numeric) -> tuple[Numeric, ...]:
    return tuple(np.radians(angle) for angle in angles)


def at_rest(
    friction_angle: Numeric,
    *,
    overconsolidation_ratio: Numeric = 1.0,
    backfill_slope_angle: Numeric = 0.0,
) -> Numeric:
    """Coefficient at rest [-]: K = (1 - sin φ′) OCR^(sin φ′) (1 + sin β), β not below 0.

    Jaky's normally consolidated value, the exponent of Mayne & Kulhawy (1982) for unloaded
    soil, the increase of EN 1997-1, 9.5.2 for ground rising from the wall (its own exponent
    of the ratio is 0.5), none where it falls; the thrust is taken parallel to the ground.
    """
    sin = np.sin(np.radians(friction_angle))
    rising = np.maximum(np.sin(np.radians(backfill_slope_angle)), 0.0)
    return sourced((1.0 - sin) * overconsolidation_ratio**sin * (1.0 + rising), _AT_REST)


@dataclass(frozen=True, slots=True)
class CurvedSlip:
    """The slip line of Annex C.2 and what it gives on the passive side: its angles m_t and m_w at
    ground and wall and its turn v between them [deg], for which the procedure wants 0 or more;
    K_n, normal pressure on the wall for a unit pressure normal to the ground, and K of the
    inclined resultant of the soil's own weight [-].
    """

    at_ground: Numeric
    at_wall: Numeric
    turn: Numeric
    surface_load: Numeric
    coefficient: Numeric


def curved_slip(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
) -> CurvedSlip:
    """Passive pressure on a curved slip surface by EN 1997-1 Annex C.2, for soil without
    cohesion or for level ground:

    m_t = (90° + asin(sin β / sin φ) - φ - β) / 2,
    m_w = (90° - asin(sin δ / sin φ) - φ - δ) / 2,  v = m_t + β - m_w - θ,
    K_n = (1 + sin φ sin(2 m_w + φ)) / (1 - sin φ sin(2 m_t + φ)) exp(2 v tan φ).

    The annex gives the pressure normal to the wall, K_γ = K_n cos β cos(β - θ), at a depth
    along the wall. Its resultant at δ from the normal over the vertical height H is
    K = K_γ / (cos²θ cos δ), the number that compares with :func:`coulomb`. All are
    nan where δ or |β| exceeds φ, or φ is zero.
    """
    phi, delta, theta, beta = _radians(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle
    )
    sin = np.sin(phi)
    with np.errstate(divide="ignore", invalid="ignore"):
        at_ground = 0.5 * (np.pi / 2.0 + _arcsin(np.sin(beta) / sin) - phi - beta)
        at_wall = 0.5 * (np.pi / 2.0 - _arcsin(np.sin(delta) / sin) - phi - delta)
        turn = at_ground + beta - at_wall - theta
        normal = (
            (1.0 + sin * np.sin(2.0 * at_wall + phi))
            / (1.0 - sin * np.sin(2.0 * at_ground + phi))
            * np.exp(2.0 * turn * np.tan(phi))
        )
    weight = normal * np.cos(beta) * np.cos(beta - theta)
    return CurvedSlip(
        np.degrees(at_ground),
        np.degrees(at_wall),
        np.degrees(turn),
        normal,
        weight / (np.cos(theta) ** 2 * np.cos(delta)),
    )


def _arcsin(sine: Numeric) -> Numeric:
    """Arc sine [rad]: exact at ±1 within round-off, nan beyond."""
    return np.where(np.abs(sine) <= 1.0 + _ROUND_OFF, np.arcsin(np.clip(sine, -1.0, 1.0)), np.nan)
