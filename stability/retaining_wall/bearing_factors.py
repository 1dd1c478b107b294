"""Factors of bearing capacity: N, and those for shape, depth and inclination.

Every factor has three numbers, for the terms of cohesion, overburden and weight; see
:mod:`stability.retaining_wall.bearing_capacity` for the sum they stand in.

Methods, each with its own factors and never mixed unless the caller does so:

``vesic``     N_γ = 2 (N_q + 1) tan φ; shape after De Beer, depth after Hansen; Vesić (1973),
              J. Soil Mech. Found. Div. 99(SM1), and (1975), Foundation Engineering Handbook.
``meyerhof``  N_γ = (N_q - 1) tan 1.4φ; Meyerhof (1963), Can. Geotech. J. 1(1).
``annex_d``   N_γ = 2 (N_q - 1) tan φ for a rough base, no depth factors; EN 1997-1:2004,
              Annex D. For φ = 0 the annex has a formula of its own for s_c and i_c.

Arguments go by one name throughout, scalars or arrays that broadcast; an unknown method raises
``InputError``:

    method                 one of those three
    friction_angle         φ′ [deg], or the ``Friction`` that has been made of it
    width_over_length      B′ / L′ [-], 0 for a strip, up to 1
    depth_over_width       founding depth over width of the base [-]
    ground_fall            β [deg], from 0 to below 45 and below φ′; level ground gives 1

All share N_q = exp(π tan φ) tan²(45 + φ/2) and N_c = (N_q - 1) cot φ (Prandtl 1921,
Reissner 1924). The equations are given from memory; the N factors and the worked cases in
the tests hold them to print. φ = 0 is the limit of the equations. The inclination factors
are 0 from H = V + A′ c cot φ on; that the base slides before is for the sliding check.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slipmargin.strength import InputError, Numeric
from slipmargin.strength.traced import sourced, written_as

__all__ = [
    "METHODS",
    "Friction",
    "Terms",
    "bearing_factors",
    "depth_factors",
    "ground_factors",
    "inclination_factors",
    "shape_factors",
]

_FULL_FRICTION = 10.0  # [deg], Meyerhof's d_q, d_γ, s_q, s_γ hold from here on
_BELOW_THE_POLE = math.radians(60.0)  # tan(1.4 φ) has its pole at 64 deg; less than the truth
_LARGEST_EXPONENT = 300.0  # reached at φ = 89.4 deg: less than the truth, but a number


_SOURCES = {
    "vesic": "Vesić (1973), (1975)",
    "meyerhof": "Meyerhof (1963)",
    "annex_d": "EN 1997-1:2004, Annex D",
}

METHODS = tuple(_SOURCES)
"""The methods."""


@dataclass(frozen=True, slots=True)
class Terms:
    """One number for each of the three terms: cohesion, overburden, weight [-]."""

    cohesion: Numeric
    overburden: Numeric
    weight: Numeric


def _by(method: str, *terms: Numeric) -> Terms:
    return Terms(*(sourced(one, _SOURCES[method]) for one in terms))


@written_as("ln(tan(45 + {0} / 2)^2)")
def _log_passive(friction_angle: Numeric) -> Numeric:
    sin = np.sin(np.radians(friction_angle))
    return np.log1p(sin) - np.log1p(-sin)


@written_as("tan(45 + {0} / 2)")
def _root_passive(friction_angle: Numeric) -> Numeric:
    return np.exp(0.5 * _log_passive(friction_angle))


def _exponent(friction_angle: Numeric) -> Numeric:
    """The logarithm of N_q."""
    return np.pi * np.tan(np.radians(friction_angle)) + _log_passive(friction_angle)


@written_as("exp(π * tan({0})) * tan(45 + {0} / 2)^2")
def _n_q(friction_angle: Numeric) -> Numeric:
    return np.expm1(np.minimum(_exponent(friction_angle), _LARGEST_EXPONENT)) + 1.0


@written_as("{0} - 1")
def _n_q_less_one(_n_q: Numeric, friction_angle: Numeric) -> Numeric:
    return np.expm1(np.minimum(_exponent(friction_angle), _LARGEST_EXPONENT))


@written_as("π + 2")
def _n_c_without_friction(friction_angle: Numeric) -> Numeric:
    return np.full(np.shape(friction_angle), np.pi + 2.0)[()]


@written_as("{0} / ({1} + {2} * {3} / tan({4}))")
def _share(
    along: Numeric, down: Numeric, area: Numeric, cohesion: Numeric, friction_angle: Numeric
) -> Numeric:
    """What a load takes of what holds along the base; 1 where nothing holds."""
    tan = np.tan(np.radians(friction_angle))
    return _ratio(along * tan, down * tan + area * cohesion, at_zero=1.0)


@written_as("1 - {0}")
def _lost(_i_q: Numeric, share: Numeric, m: Numeric) -> Numeric:
    with np.errstate(divide="ignore"):
        return -np.expm1(m * np.log1p(-share))


@written_as("{0} - 1")
def _gained(_d_q: Numeric, gain: Numeric) -> Numeric:
    return gain


def _ratio(top: Numeric, bottom: Numeric, *, at_zero: Numeric) -> Numeric:
    """Quotient, with its limit where the divisor is 0."""
    zero = bottom == 0.0
    return np.where(zero, at_zero, top / np.where(zero, 1.0, bottom))


@dataclass(frozen=True, slots=True)
class Friction:
    """φ [deg], its functions that the factors share, and what all methods have: N_q and N_c."""

    angle: Numeric
    tan: Numeric
    sin: Numeric
    n_q: Numeric
    n_q_less_one: Numeric
    n_c: Numeric

    @classmethod
    def of(cls, friction_angle: Numeric | Friction) -> Friction:
        """That of an angle [deg]; one that is made stays."""
        if isinstance(friction_angle, Friction):
            return friction_angle
        phi = np.radians(friction_angle)
        held = np.exp(_LARGEST_EXPONENT)
        n_q = np.where(_exponent(friction_angle) > _LARGEST_EXPONENT, held, _n_q(friction_angle))
        less_one = _n_q_less_one(n_q, friction_angle)
        at_zero = _n_c_without_friction(friction_angle)
        n_c = _ratio(less_one, tan := np.tan(phi), at_zero=at_zero)
        return cls(friction_angle, tan, np.sin(phi), n_q, less_one, n_c)


def _friction(method: str, friction_angle: Numeric | Friction) -> Friction:
    """That of an angle, for a method that is known."""
    if method not in METHODS:
        raise InputError("method", method, "allowed: " + ", ".join(METHODS))
    return Friction.of(friction_angle)


def bearing_factors(method: str, friction_angle: Numeric | Friction) -> Terms:
    """Bearing capacity factors N_c, N_q, N_γ [-]."""
    f = _friction(method, friction_angle)
    if method == "vesic":
        n_gamma = 2.0 * (f.n_q + 1.0) * f.tan
    elif method == "meyerhof":
        n_gamma = f.n_q_less_one * np.tan(1.4 * np.minimum(np.radians(f.angle), _BELOW_THE_POLE))
    else:
        n_gamma = 2.0 * f.n_q_less_one * f.tan
    return Terms(f.n_c, f.n_q, sourced(n_gamma, _SOURCES[method]))


@written_as("{0} - (1 - {0}) / ({1} - 1)")
def _ground_cohesion(_g_q: Numeric, n_q: Numeric) -> Numeric:
    with np.errstate(divide="ignore", invalid="ignore"):
        return _g_q - (1.0 - _g_q) / (n_q - 1.0)


def ground_factors(friction_angle: Numeric | Friction, ground_fall: Numeric) -> Terms:
    """Factors for ground that falls away from a base, those of Vesić for every method [-].

    g_q = g_γ = (1 - tan β)², g_c = g_q - (1 - g_q) / (N_c tan φ), which is 1 - 2 β / (π + 2) at
    φ = 0, where N_γ is -2 sin β as well. None is below 0.

    Source: Vesić (1975), Foundation Engineering Handbook (from memory).
    """
    f = Friction.of(friction_angle)
    level = ground_fall == 0.0
    g_q = (1.0 - np.tan(np.radians(ground_fall))) ** 2
    without = 1.0 - 2.0 * np.radians(ground_fall) / (np.pi + 2.0)
    frictional = f.angle > 0.0
    g_c = np.where(frictional, _ground_cohesion(g_q, np.where(frictional, f.n_q, 2.0)), without)
    one = 1.0 + 0.0 * g_q
    g_q, g_c = np.where(level, one, g_q), np.where(level, one, np.maximum(g_c, 0.0))
    return _by("vesic", g_c, g_q, g_q)


def shape_factors(
    method: str, friction_angle: Numeric | Friction, width_over_length: Numeric = 0.0
) -> Terms:
    """Shape factors s_c, s_q, s_γ [-]; 1 for a strip."""
    f, ratio = _friction(method, friction_angle), width_over_length
    if method == "vesic":
        s_c, s_q, s_gamma = 1.0 + ratio * f.n_q / f.n_c, 1.0 + ratio * f.tan, 1.0 - 0.4 * ratio
    elif method == "meyerhof":
        passive = _root_passive(f.angle) ** 2
        s_c = 1.0 + 0.2 * passive * ratio
        s_q = s_gamma = 1.0 + 0.1 * passive * ratio * _meyerhof_share(f.angle)
    else:
        # (s_q N_q - 1) / (N_q - 1), written so that it stays finite; 1 + 0.2 B/L at φ = 0
        per_less_one = _ratio(f.sin, f.n_q_less_one, at_zero=0.2)
        s_c, s_q = 1.0 + ratio * f.n_q * per_less_one, 1.0 + ratio * f.sin
        s_gamma = 1.0 - 0.3 * ratio
    return _by(method, s_c, s_q, s_gamma + 0.0 * f.tan)


def _meyerhof_share(friction_angle: Numeric) -> Numeric:
    """Meyerhof gives d_q = 1 at φ = 0 and a formula above 10 deg; straight line between."""
    return np.where(friction_angle < _FULL_FRICTION, friction_angle / _FULL_FRICTION, 1.0)


def depth_factors(
    method: str, friction_angle: Numeric | Friction, depth_over_width: Numeric
) -> Terms:
    """Depth factors d_c, d_q, d_γ [-].

    They count on the strength of the soil above the base.
    """
    f, ratio = _friction(method, friction_angle), depth_over_width
    one = np.ones(np.broadcast_shapes(np.shape(ratio), np.shape(f.angle)))[()]
    if method == "annex_d":
        return Terms(one, one, one)
    if method == "meyerhof":
        root = _root_passive(f.angle)
        weight = one + 0.1 * root * ratio * _meyerhof_share(f.angle)
        return _by(method, one + 0.2 * root * ratio, weight, weight)
    k = np.where(ratio <= 1.0, ratio, np.arctan(ratio))
    gain = 2.0 * f.tan * (1.0 - f.sin) ** 2 * k
    d_q = one + gain
    # d_c = d_q - (1 - d_q) / (N_c tan φ), and 1 + 0.4 k at φ = 0
    with_friction = d_q + _ratio(_gained(d_q, gain), f.n_q_less_one, at_zero=0.0)
    return _by(method, np.where(f.angle == 0.0, one + 0.4 * k, with_friction), d_q, one)


def inclination_factors(
    method: str,
    friction_angle: Numeric | Friction,
    *,
    cohesion: Numeric,
    vertical_force: Numeric,
    horizontal_force: Numeric,
    area: Numeric,
    width_over_length: Numeric = 0.0,
    exponent: Numeric | None = None,
) -> Terms:
    """Inclination factors i_c, i_q, i_γ [-].

    ``vesic`` and ``annex_d``: with x = H / (V + A′ c cot φ) and m = (2 + B/L) / (1 + B/L),
    i_q = (1 - x)^m, i_γ = (1 - x)^(m + 1), i_c = i_q - (1 - i_q) / (N_c tan φ); at φ = 0
    i_c = 1 - m H / (A′ c N_c), for ``annex_d`` ½ (1 + √(1 - H / (A′ c))). ``meyerhof``:
    with α = atan(H / V), i_c = i_q = (1 - α/90)², i_γ = (1 - α/φ)².

    V and H are the load on the effective area A′ [kN], [m²], or on a metre of a strip [kN/m], B′;
    without a push every factor is 1, where something pushes and nothing presses, 0. ``exponent``
    is m for H in another direction than B; ``None`` takes it from ``width_over_length``.
    """
    f, down, along = _friction(method, friction_angle), vertical_force, horizontal_force
    none = f.angle == 0.0

    def loaded(factor: Numeric) -> Numeric:
        return np.where(along <= 0.0, 1.0, np.where(down <= 0.0, 0.0, factor))

    if method == "meyerhof":
        alpha = np.degrees(np.arctan2(along, down))
        steep = loaded(np.maximum(1.0 - alpha / 90.0, 0.0) ** 2)
        slip = np.maximum(1.0 - _ratio(alpha, f.angle, at_zero=1.0), 0.0) ** 2
        return _by(method, steep, steep, loaded(np.where(none, 0.0, slip)))
    m = exponent
    if m is None:
        m = (2.0 + width_over_length) / (1.0 + width_over_length)
    held = area * cohesion
    share = np.clip(_share(along, down, area, cohesion, f.angle), 0.0, 1.0)

    def held_by(factor: Numeric, without_friction: Numeric = 1.0) -> Numeric:
        found = np.where(none, without_friction, factor)
        return loaded(np.where(none & (held <= 0.0), 0.0, found))

    i_q = held_by((1.0 - share) ** m)
    taken = _ratio(along, held, at_zero=np.inf)
    if method == "annex_d":
        at_zero = 0.5 * (1.0 + np.sqrt(np.maximum(1.0 - taken, 0.0)))
    else:
        at_zero = 1.0 - m * np.minimum(taken, 1.0) / f.n_c
    at_zero = np.where(taken > 1.0, 0.0, at_zero)
    # falls below 0 before the base slides
    i_c = np.maximum(i_q - _ratio(_lost(i_q, share, m), f.n_q_less_one, at_zero=0.0), 0.0)
    i_gamma = held_by((1.0 - share) ** (m + 1.0))
    return _by(method, held_by(i_c, at_zero), i_q, i_gamma)
