"""Coefficients of earth pressure: at rest, Rankine, Coulomb, Mononobe-Okabe, Annex C.

Every coefficient K belongs to the soil's own weight, without cohesion, and means the
resultant

    P = ½ γ H² K    (with shaking: ½ γ (1 - k_v) H² K)

H being the height of the wall, measured vertically also where the back face is battered.
The resultant acts at

    at rest, Rankine          parallel to the ground surface
    Coulomb, Mononobe-Okabe   at the wall friction angle δ from the normal of the back face
    Annex C                   likewise, on the passive side

so that Coulomb and Annex C compare number by number. Angles are scalars or arrays that
broadcast; where a theory has no answer the coefficient is nan.

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

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import Numeric

__all__ = [
    "annex_c_passive",
    "annex_c_slip_line",
    "annex_c_surface_load",
    "annex_c_turn",
    "at_rest",
    "bell_cohesion",
    "coulomb_active",
    "coulomb_cohesion_active",
    "coulomb_cohesion_passive",
    "coulomb_passive",
    "inner_plane_angle",
    "rankine_active",
    "rankine_passive",
    "seismic_angle",
]

_ROUND_OFF = 1e-12
_LEAST_ROOM = 1e-9  # of √R below 1, where the passive coefficient grows without end


def rankine_active(
    friction_angle: Numeric, *, backfill_slope_angle: Numeric = 0.0
) -> NDArray[np.float64]:
    """Rankine's active coefficient [-] on a vertical plane; the thrust is parallel to the ground.

    K = cos β (cos β - √(cos²β - cos²φ)) / (cos β + √(cos²β - cos²φ)); nan where |β| > φ.

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    backfill_slope_angle
        β [deg].
    """
    cos, root = _conjugate(friction_angle, backfill_slope_angle)
    return np.asarray(cos * (cos - root) / (cos + root))


def rankine_passive(
    friction_angle: Numeric, *, backfill_slope_angle: Numeric = 0.0
) -> NDArray[np.float64]:
    """Rankine's passive coefficient [-] on a vertical plane; the thrust is parallel to the ground.

    K = cos β (cos β + √(cos²β - cos²φ)) / (cos β - √(cos²β - cos²φ)); nan where |β| > φ.

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    backfill_slope_angle
        β [deg].
    """
    cos, root = _conjugate(friction_angle, backfill_slope_angle)
    return np.asarray(cos * (cos + root) / (cos - root))


def inner_plane_angle(
    friction_angle: Numeric, *, backfill_slope_angle: Numeric = 0.0
) -> NDArray[np.float64]:
    """Angle from vertical of Rankine's inner slip plane, up from the heel [deg].

    η = 45 + β/2 - φ/2 - ½ asin(sin β / sin φ), as in Das, Principles of Foundation
    Engineering, ch. 8 (from memory).

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    backfill_slope_angle
        β [deg].
    """
    sin_phi = np.sin(np.radians(np.asarray(friction_angle, dtype=float)))
    sin_beta = np.sin(np.radians(backfill_slope_angle))
    ratio = np.where(sin_phi > 0.0, sin_beta / np.where(sin_phi > 0.0, sin_phi, 1.0), 0.0)
    turned = np.degrees(np.arcsin(np.clip(ratio, -1.0, 1.0)))
    return np.asarray(45.0 + 0.5 * (np.asarray(backfill_slope_angle) - friction_angle - turned))


def _conjugate(friction_angle: Numeric, slope: Numeric) -> tuple[NDArray[np.float64], ...]:
    cos = np.cos(np.radians(slope))
    square = cos**2 - np.cos(np.radians(friction_angle)) ** 2
    return np.asarray(cos), _root(square)


def _root(square: Numeric) -> NDArray[np.float64]:
    """Square root: zero within round-off below zero, nan beyond it."""
    square = np.asarray(square, dtype=float)
    real = np.sqrt(np.maximum(square, 0.0))
    return np.where(square < -_ROUND_OFF, np.nan, real)


def seismic_angle(k_h: Numeric, k_v: Numeric) -> NDArray[np.float64]:
    """Angle of the body force from vertical, ψ = atan(k_h / (1 - k_v)) [deg].

    Parameters
    ----------
    k_h
        Horizontal seismic coefficient [-].
    k_v
        Vertical seismic coefficient [-], positive upward (reduces weight), below 1.
    """
    return np.asarray(np.degrees(np.arctan2(k_h, 1.0 - np.asarray(k_v, dtype=float))))


def coulomb_active(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric = 0.0,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
    seismic_angle: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Active coefficient [-] of Coulomb, with shaking of Mononobe-Okabe.

    K = cos²(φ - θ - ψ) / (cos ψ cos²θ cos(δ + θ + ψ) (1 + √R)²),
    R = sin(φ + δ) sin(φ - β - ψ) / (cos(δ + θ + ψ) cos(β - θ));
    nan where φ < β + ψ (no slope of that angle stands) or the resultant would turn past the
    vertical.

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    seismic_angle
        ψ [deg], see :func:`seismic_angle`; 0 is Coulomb's static case.
    """
    phi, delta, theta, beta, psi = _radians(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle, seismic_angle
    )
    toward_wall = np.cos(delta + theta + psi)
    under = np.sin(phi + delta) * np.sin(phi - beta - psi)
    valid = (toward_wall > 0.0) & (np.cos(beta - theta) > 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        root = _root(under / (toward_wall * np.cos(beta - theta)))
        top = np.cos(phi - theta - psi)
        value = top**2 / (np.cos(psi) * np.cos(theta) ** 2 * toward_wall * (1.0 + root) ** 2)
    # a face steeper back than the slip plane holds no wedge
    value = np.where(top < 0.0, 0.0, value)
    return np.where(valid & np.isfinite(root), value, np.nan)


def coulomb_passive(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric = 0.0,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
    seismic_angle: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Passive coefficient [-] of Coulomb, with shaking of Mononobe-Okabe.

    K = cos²(φ + θ - ψ) / (cos ψ cos²θ cos(δ - θ + ψ) (1 - √R)²),
    R = sin(φ + δ) sin(φ + β - ψ) / (cos(δ - θ + ψ) cos(β - θ));
    nan where φ + β < ψ, or where R reaches 1 and a slip plane gives no least resistance.
    A slip plane overstates the resistance once δ exceeds about φ / 3: see
    :func:`annex_c_passive`.

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    seismic_angle
        ψ [deg], see :func:`seismic_angle`; 0 is Coulomb's static case.
    """
    phi, delta, theta, beta, psi = _radians(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle, seismic_angle
    )
    against_wall = np.cos(delta - theta + psi)
    under = np.sin(phi + delta) * np.sin(phi + beta - psi)
    valid = (against_wall > 0.0) & (np.cos(beta - theta) > 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        root = _root(under / (against_wall * np.cos(beta - theta)))
        top = np.cos(phi + theta - psi)
        value = top**2 / (np.cos(psi) * np.cos(theta) ** 2 * against_wall * (1.0 - root) ** 2)
    return np.where(valid & (root < 1.0 - _LEAST_ROOM) & (top > 0.0), value, np.nan)


def bell_cohesion(coefficient: Numeric, adhesion_ratio: Numeric = 0.0) -> NDArray[np.float64]:
    """Cohesion coefficient [-] of level ground and a vertical wall: K_c = 2 √(K (1 + a / c)).

    Exact for a smooth wall, Bell (1915), Min. Proc. Inst. Civ. Eng. 199 (from memory). With
    wall friction and adhesion an approximation, as in Smith, Elements of Soil Mechanics,
    where K is the horizontal part of Coulomb's coefficient.

    Parameters
    ----------
    coefficient
        K of the soil's own weight [-].
    adhesion_ratio
        a / c, wall adhesion over cohesion [-].
    """
    return np.asarray(2.0 * np.sqrt(np.asarray(coefficient) * (1.0 + np.asarray(adhesion_ratio))))


def coulomb_cohesion_active(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric = 0.0,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
    adhesion_ratio: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Cohesion coefficient K_c [-] of Coulomb's wedge: cohesion takes c H K_c off the thrust.

    The least that cohesion c on the plane and adhesion a on the wall can take off, over all
    slip planes. The plane that governs weight is another one, so K ½ γ H² - K_c c H lies
    on the safe side of the wedge with both. In closed form, with η = φ + θ + δ - β,
    k = cos φ cos(β - θ), n = (a / c) cos δ and s = √(k (k + n cos η)):

    K_c cos θ = (2 k + n cos η) / (1 + sin η) - k n² / (s + k)² + (a / c) sin δ;
    smooth, vertical and level it is Bell's 2 √K. nan where no plane exists.

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    adhesion_ratio
        a / c, from 0 to 1 [-].
    """
    phi, delta, theta, beta = _radians(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle
    )
    return _wedge_cohesion(phi, delta, theta, beta, np.asarray(adhesion_ratio, dtype=float))


def coulomb_cohesion_passive(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric = 0.0,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
    adhesion_ratio: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Cohesion coefficient K_c [-] of Coulomb's wedge: cohesion adds c H K_c to the resistance.

    The least over all planes, hence on the safe side; :func:`coulomb_cohesion_active` with
    the signs of φ and δ turned.

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    adhesion_ratio
        a / c, from 0 to 1 [-].
    """
    phi, delta, theta, beta = _radians(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle
    )
    return _wedge_cohesion(-phi, -delta, theta, beta, np.asarray(adhesion_ratio, dtype=float))


def _wedge_cohesion(
    phi: NDArray[np.float64],
    delta: NDArray[np.float64],
    theta: NDArray[np.float64],
    beta: NDArray[np.float64],
    ratio: NDArray[np.float64],
) -> NDArray[np.float64]:
    eta = phi + theta + delta - beta
    on_plane = np.cos(phi) * np.cos(beta - theta)
    on_wall = ratio * np.cos(delta)
    least = np.sqrt(on_plane * np.maximum(on_plane + on_wall * np.cos(eta), 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        value = (2.0 * on_plane + on_wall * np.cos(eta)) / (1.0 + np.sin(eta))
        value = value - on_plane * on_wall**2 / (least + on_plane) ** 2
        value = (value + ratio * np.sin(delta)) / np.cos(theta)
    return np.where((np.abs(eta) < 0.5 * np.pi) | (eta > 0.0), value, np.nan)


def _radians(*angles: Numeric) -> tuple[NDArray[np.float64], ...]:
    return tuple(np.radians(np.asarray(angle, dtype=float)) for angle in angles)


def at_rest(
    friction_angle: Numeric,
    *,
    overconsolidation_ratio: Numeric = 1.0,
    backfill_slope_angle: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Coefficient at rest [-]: K = (1 - sin φ′) OCR^(sin φ′) (1 + sin β), β not below 0.

    Jaky's normally consolidated value, the exponent of Mayne & Kulhawy (1982) for unloaded
    soil, the increase of EN 1997-1, 9.5.2 for ground rising from the wall (its own exponent
    of the ratio is 0.5), none where it falls; the thrust is taken parallel to the ground.

    Parameters
    ----------
    friction_angle
        φ′ [deg].
    overconsolidation_ratio
        OCR [-], 1 or more.
    backfill_slope_angle
        β [deg].
    """
    sin = np.sin(np.radians(friction_angle))
    unloaded = np.asarray(overconsolidation_ratio, dtype=float) ** sin
    rising = np.maximum(np.sin(np.radians(backfill_slope_angle)), 0.0)
    return np.asarray((1.0 - sin) * unloaded * (1.0 + rising))


def annex_c_surface_load(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Normal pressure on the wall for a unit pressure normal to the ground, K_n [-], passive.

    EN 1997-1 Annex C.2, curved slip line of total turn v, for soil without cohesion or for
    level ground:

    cos(2 m_t + φ + β) = -sin β / sin φ,  cos(2 m_w + φ + δ) = sin δ / sin φ,
    v = m_t + β - m_w - θ,
    K_n = (1 + sin φ sin(2 m_w + φ)) / (1 - sin φ sin(2 m_t + φ)) exp(2 v tan φ);
    nan where δ or |β| exceeds φ, or φ is zero.

    Parameters
    ----------
    friction_angle
        φ′ [deg], above 0.
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    """
    phi, at_ground, at_wall, turn = _slip_line(
        friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(
            (1.0 + np.sin(phi) * np.sin(2.0 * at_wall + phi))
            / (1.0 - np.sin(phi) * np.sin(2.0 * at_ground + phi))
            * np.exp(2.0 * turn * np.tan(phi))
        )


def annex_c_turn(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Turn v of the slip line of Annex C.2 [deg]; the procedure is meant for v of 0 or more.

    Parameters
    ----------
    friction_angle
        φ′ [deg], above 0.
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    """
    *_, turn = _slip_line(friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle)
    return np.asarray(np.degrees(turn))


def annex_c_slip_line(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Angles m_t and m_w of the slip line of Annex C.2 at ground and wall, and its turn v
    [deg]; the procedure is meant for v of 0 or more.

    Parameters
    ----------
    friction_angle
        φ′ [deg], above 0.
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    """
    _, *line = _slip_line(friction_angle, wall_friction_angle, wall_batter, backfill_slope_angle)
    at_ground, at_wall, turn = (np.asarray(np.degrees(angle)) for angle in line)
    return at_ground, at_wall, turn


def _slip_line(
    friction_angle: Numeric, wall_friction_angle: Numeric, batter: Numeric, slope: Numeric
) -> tuple[NDArray[np.float64], ...]:
    """Friction angle, m_t, m_w and turn v of Annex C.2 [rad]."""
    phi, delta, theta, beta = _radians(friction_angle, wall_friction_angle, batter, slope)
    with np.errstate(divide="ignore", invalid="ignore"):
        at_ground = 0.5 * (_arccos(-np.sin(beta) / np.sin(phi)) - phi - beta)
        at_wall = 0.5 * (_arccos(np.sin(delta) / np.sin(phi)) - phi - delta)
    return phi, at_ground, at_wall, at_ground + beta - at_wall - theta


def _arccos(cosine: Numeric) -> NDArray[np.float64]:
    """Arc cosine [rad]: exact at ±1 within round-off, nan beyond."""
    cosine = np.asarray(cosine, dtype=float)
    inside = np.arccos(np.clip(cosine, -1.0, 1.0))
    return np.where(np.abs(cosine) <= 1.0 + _ROUND_OFF, inside, np.nan)


def annex_c_passive(
    friction_angle: Numeric,
    *,
    wall_friction_angle: Numeric,
    wall_batter: Numeric = 0.0,
    backfill_slope_angle: Numeric = 0.0,
) -> NDArray[np.float64]:
    """Passive coefficient [-] of the inclined resultant by EN 1997-1 Annex C.2.

    The annex gives the pressure normal to the wall, K_γ = K_n cos β cos(β - θ), at a depth
    along the wall. Its resultant at δ from the normal over the vertical height H is
    K = K_γ / (cos²θ cos δ), the number that compares with :func:`coulomb_passive`.

    Parameters
    ----------
    friction_angle
        φ′ [deg], above 0.
    wall_friction_angle
        δ [deg].
    wall_batter
        θ [deg].
    backfill_slope_angle
        β [deg].
    """
    normal = annex_c_surface_load(
        friction_angle,
        wall_friction_angle=wall_friction_angle,
        wall_batter=wall_batter,
        backfill_slope_angle=backfill_slope_angle,
    )
    delta, theta, beta = _radians(wall_friction_angle, wall_batter, backfill_slope_angle)
    weight = normal * np.cos(beta) * np.cos(beta - theta)
    return np.asarray(weight / (np.cos(theta) ** 2 * np.cos(delta)))
