"""Factors of bearing capacity: N, and those for shape, depth and inclination.

Every factor has three numbers, for the terms of cohesion, overburden and weight; see
:mod:`stability.retaining_wall.bearing_capacity` for the sum they stand in.

Methods, each with its own factors and never mixed unless the caller does so:

``vesic``     N_γ = 2 (N_q + 1) tan φ; shape after De Beer, depth after Hansen; Vesić (1973),
              J. Soil Mech. Found. Div. 99(SM1), and (1975), Foundation Engineering Handbook.
``meyerhof``  N_γ = (N_q - 1) tan 1.4φ; Meyerhof (1963), Can. Geotech. J. 1(1).
``annex_d``   N_γ = 2 (N_q - 1) tan φ for a rough base, no depth factors; EN 1997-1:2004,
              Annex D. For φ = 0 the annex has a formula of its own for s_c and i_c.
``hansen``    N_γ = 1.5 (N_q - 1) tan φ and depth factors only; Hansen (1970), Danish
              Geotech. Inst. Bull. 28.

All share N_q = exp(π tan φ) tan²(45 + φ/2) and N_c = (N_q - 1) cot φ (Prandtl 1921,
Reissner 1924). The equations are given from memory; the N factors and the worked cases in
the tests hold them to print. φ = 0 is the limit of the equations. The inclination factors
are 0 from H = V + A′ c cot φ on; that the base slides before is for the sliding check.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import InputError, Numeric

__all__ = [
    "METHODS",
    "Terms",
    "bearing_factors",
    "depth_factors",
    "inclination_factors",
    "shape_factors",
]

METHODS = ("vesic", "meyerhof", "annex_d")
"""The methods that have every factor."""

_FULL_FRICTION = 10.0  # [deg], Meyerhof's d_q, d_γ, s_q, s_γ hold from here on


@dataclass(frozen=True, slots=True)
class Terms:
    """One number for each of the three terms: cohesion, overburden, weight [-]."""

    cohesion: Numeric
    overburden: Numeric
    weight: Numeric


_BELOW_THE_POLE = math.radians(60.0)  # tan(1.4 φ) has its pole at 64 deg; less than the truth
_LARGEST_EXPONENT = 300.0  # reached at φ = 89.4 deg: less than the truth, but a number


@dataclass(frozen=True, slots=True)
class _Friction:
    """Functions of φ that the factors share, finite at φ = 0."""

    phi: NDArray[np.float64]
    tan: NDArray[np.float64]
    sin: NDArray[np.float64]
    passive: NDArray[np.float64]
    n_q_less_one: NDArray[np.float64]

    @classmethod
    def of(cls, friction_angle: Numeric) -> _Friction:
        phi = np.radians(np.asarray(friction_angle, dtype=float))
        tan, sin = np.tan(phi), np.sin(phi)
        log_passive = np.log1p(sin) - np.log1p(-sin)
        exponent = np.minimum(np.pi * tan + log_passive, _LARGEST_EXPONENT)
        return cls(phi, tan, sin, np.exp(log_passive), np.expm1(exponent))

    @property
    def n_c(self) -> NDArray[np.float64]:
        return _ratio(self.n_q_less_one, self.tan, at_zero=np.pi + 2.0)


def _ratio(top: Numeric, bottom: Numeric, *, at_zero: float) -> NDArray[np.float64]:
    """Quotient, with its limit where the divisor is 0."""
    bottom = np.asarray(bottom, dtype=float)
    zero = bottom == 0.0
    return np.where(zero, at_zero, top / np.where(zero, 1.0, bottom))


def _unknown(method: str, known: tuple[str, ...]) -> InputError:
    return InputError("method", method, "allowed: " + ", ".join(known))


def bearing_factors(method: str, friction_angle: Numeric) -> Terms:
    """Bearing capacity factors N_c, N_q, N_γ [-].

    Parameters
    ----------
    method
        ``vesic``, ``meyerhof``, ``annex_d`` or ``hansen``.
    friction_angle
        φ′ [deg], any shape.

    Raises
    ------
    InputError
        An unknown method.
    """
    f = _Friction.of(friction_angle)
    less_one = f.n_q_less_one
    match method:
        case "vesic":
            n_gamma = 2.0 * (less_one + 2.0) * f.tan
        case "meyerhof":
            n_gamma = less_one * np.tan(1.4 * np.minimum(f.phi, _BELOW_THE_POLE))
        case "annex_d":
            n_gamma = 2.0 * less_one * f.tan
        case "hansen":
            n_gamma = 1.5 * less_one * f.tan
        case _:
            raise _unknown(method, (*METHODS, "hansen"))
    return Terms(f.n_c, less_one + 1.0, n_gamma)


def shape_factors(method: str, friction_angle: Numeric, width_over_length: Numeric = 0.0) -> Terms:
    """Shape factors s_c, s_q, s_γ [-]; 1 for a strip.

    Parameters
    ----------
    method
        ``vesic``, ``meyerhof`` or ``annex_d``.
    friction_angle
        φ′ [deg].
    width_over_length
        B′ / L′ [-], 0 for a strip, up to 1.

    Raises
    ------
    InputError
        An unknown method.
    """
    f = _Friction.of(friction_angle)
    ratio = np.asarray(width_over_length, dtype=float)
    match method:
        case "vesic":
            return Terms(
                1.0 + ratio * (f.n_q_less_one + 1.0) / f.n_c,
                1.0 + ratio * f.tan,
                1.0 - 0.4 * ratio + 0.0 * f.tan,
            )
        case "meyerhof":
            weight = 1.0 + 0.1 * f.passive * ratio * _meyerhof_share(friction_angle)
            return Terms(1.0 + 0.2 * f.passive * ratio, weight, weight)
        case "annex_d":
            s_q = 1.0 + ratio * f.sin
            n_q = f.n_q_less_one + 1.0
            # (s_q N_q - 1) / (N_q - 1), written so that it stays finite; 1 + 0.2 B/L at φ = 0
            per_less_one = _ratio(f.sin, f.n_q_less_one, at_zero=0.2)
            n_q = np.where(f.n_q_less_one == 0.0, 1.0, n_q)
            return Terms(1.0 + ratio * n_q * per_less_one, s_q, 1.0 - 0.3 * ratio + 0.0 * f.tan)
        case _:
            raise _unknown(method, METHODS)


def _meyerhof_share(friction_angle: Numeric) -> NDArray[np.float64]:
    """Meyerhof gives d_q = 1 at φ = 0 and a formula above 10 deg; straight line between."""
    return np.clip(np.asarray(friction_angle, dtype=float) / _FULL_FRICTION, 0.0, 1.0)


def depth_factors(method: str, friction_angle: Numeric, depth_over_width: Numeric) -> Terms:
    """Depth factors d_c, d_q, d_γ [-].

    They count on the strength of the soil above the base.

    Parameters
    ----------
    method
        ``vesic``, ``meyerhof``, ``annex_d`` (which has none: 1) or ``hansen``.
    friction_angle
        φ′ [deg].
    depth_over_width
        Founding depth over width of the base [-].

    Raises
    ------
    InputError
        An unknown method.
    """
    f = _Friction.of(friction_angle)
    ratio = np.asarray(depth_over_width, dtype=float)
    one = np.ones(np.broadcast_shapes(ratio.shape, f.phi.shape))
    if method == "annex_d":
        return Terms(one, one, one)
    if method == "meyerhof":
        root = np.sqrt(f.passive)
        weight = one + 0.1 * root * ratio * _meyerhof_share(friction_angle)
        return Terms(one + 0.2 * root * ratio, weight, weight)
    k = np.where(ratio <= 1.0, ratio, np.arctan(ratio))
    gain = 2.0 * f.tan * (1.0 - f.sin) ** 2 * k
    if method == "hansen":
        return Terms(one + 0.4 * k, one + gain, one)
    if method == "vesic":
        # d_c = d_q - (1 - d_q) / (N_c tan φ), and 1 + 0.4 k at φ = 0
        d_c = np.where(
            f.tan == 0.0, one + 0.4 * k, one + gain + _ratio(gain, f.n_q_less_one, at_zero=0.0)
        )
        return Terms(d_c, one + gain, one)
    raise _unknown(method, (*METHODS, "hansen"))


def inclination_factors(
    method: str,
    friction_angle: Numeric,
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

    Parameters
    ----------
    method
        ``vesic``, ``meyerhof`` or ``annex_d``.
    friction_angle
        φ′ [deg].
    cohesion
        c′ [kPa].
    vertical_force, horizontal_force
        Load on the base [kN], or [kN/m] beside an area per metre; not negative.
    area
        Effective area of the base A′ [m²], or B′ [m²/m] for a strip.
    width_over_length
        B′ / L′ [-], 0 for a strip; H acts along B.
    exponent
        m [-] for H in another direction; ``None`` takes it from ``width_over_length``.

    Raises
    ------
    InputError
        An unknown method.
    """
    f = _Friction.of(friction_angle)
    down, along = np.asarray(vertical_force, dtype=float), np.asarray(horizontal_force)
    if method == "meyerhof":
        alpha = np.arctan2(along, down)
        steep = np.maximum(1.0 - alpha / (0.5 * np.pi), 0.0) ** 2
        slip = np.maximum(1.0 - _ratio(alpha, f.phi, at_zero=1.0), 0.0) ** 2
        level = (along == 0.0) & (f.phi == 0.0)
        return Terms(steep, steep, np.where(level, 1.0, slip))
    if method not in METHODS:
        raise _unknown(method, METHODS)
    ratio = np.asarray(width_over_length, dtype=float)
    m = (2.0 + ratio) / (1.0 + ratio) if exponent is None else np.asarray(exponent, dtype=float)
    held = np.asarray(area) * cohesion
    # H / (V + A c cot φ); nothing holds where φ and c are both 0
    share = _ratio(along * f.tan, down * f.tan + held, at_zero=1.0)
    share = np.where((along > 0.0) & (down <= 0.0), 1.0, np.clip(share, 0.0, 1.0))
    share = np.where(along == 0.0, 0.0, share)
    sliding = share >= 1.0
    log = np.log1p(-np.where(sliding, 0.0, share))
    i_q = np.where(sliding, 0.0, np.exp(m * log))
    i_gamma = np.where(sliding, 0.0, np.exp((m + 1.0) * log))
    lost = np.where(sliding, 1.0, -np.expm1(m * log))
    i_c = i_q - _ratio(lost, f.n_q_less_one, at_zero=0.0)
    taken = np.where(along == 0.0, 0.0, _ratio(along, held, at_zero=np.inf))
    if method == "annex_d":
        at_zero = 0.5 * (1.0 + np.sqrt(np.maximum(1.0 - taken, 0.0)))
    else:
        at_zero = 1.0 - m * np.minimum(taken, 1.0) / (np.pi + 2.0)
    at_zero = np.where(taken > 1.0, 0.0, at_zero)
    return Terms(np.maximum(np.where(f.tan == 0.0, at_zero, i_c), 0.0), i_q, i_gamma)
