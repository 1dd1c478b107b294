"""Published closed forms for plane failure of simple slopes: cross-checks of the search.

They hold for a dry slope with a level upper surface and no load but its own weight.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import Numeric

__all__ = [
    "critical_crack_depth_ratio",
    "critical_crack_distance_ratio",
    "culmann_critical_height",
    "culmann_critical_plane",
    "dry_planar_factor",
]


def culmann_critical_height(
    face_angle: Numeric, *, cohesion: Numeric, friction_angle: Numeric, unit_weight: Numeric
) -> NDArray[np.float64]:
    """Height [m] at which a slope just stands against failure on a plane.

    H = (4 c′ / γ) sin β cos φ′ / (1 - cos(β - φ′)), with β the face above φ′, both [deg];
    cohesion [kPa], unit weight [kN/m³]. For a factor F put in c′ / F and the angle of
    tan φ′ / F.

    Source: Culmann (1866); Taylor (1948), Fundamentals of Soil Mechanics, ch. 16.
    """
    beta, phi = np.radians(face_angle), np.radians(friction_angle)
    height: NDArray[np.float64] = (
        4.0 * cohesion / unit_weight * np.sin(beta) * np.cos(phi) / (1.0 - np.cos(beta - phi))
    )
    return height


def culmann_critical_plane(face_angle: Numeric, friction_angle: Numeric) -> Numeric:
    """Critical plane of a slope at its critical height: halfway from φ′ to the face [deg].

    Source: as ``culmann_critical_height``.
    """
    return 0.5 * (np.asarray(face_angle) + friction_angle)


def dry_planar_factor(
    face_angle: Numeric,
    *,
    height: Numeric,
    cohesion: Numeric,
    friction_angle: Numeric,
    unit_weight: Numeric,
) -> NDArray[np.float64]:
    """Lowest factor of safety over all planes, any factor, not only 1.

    With n = 2 c′ / (γ H) and κ the cotangent of the face (angles [deg], height [m],
    cohesion [kPa], unit weight [kN/m³]) the factor of the plane with cot ψ = u is
    n (1 + u²) / (u - κ) + u tan φ′, whose minimum is

        F = 2 n κ + κ tan φ′ + 2 √(n (n + tan φ′) (1 + κ²))

    Setting F = 1 gives Culmann's height back.
    """
    n = 2.0 * cohesion / (unit_weight * np.asarray(height))
    beta, tan_phi = np.radians(face_angle), np.tan(np.radians(friction_angle))
    cot = np.cos(beta) / np.sin(beta)
    root = np.sqrt(n * (n + tan_phi) * (1.0 + cot**2))
    factor: NDArray[np.float64] = 2.0 * n * cot + cot * tan_phi + 2.0 * root
    return factor


def critical_crack_depth_ratio(face_angle: Numeric, plane_angle: Numeric) -> Numeric:
    """Depth of the worst dry tension crack over the height of the slope [-].

    z / H = 1 - √(cot ψ_f tan ψ_p), face and plane [deg].

    Source: Hoek & Bray (1974), Rock Slope Engineering, plane failure.
    """
    face, plane = np.radians(face_angle), np.radians(plane_angle)
    ratio: Numeric = 1.0 - np.sqrt(np.tan(plane) / np.tan(face))
    return ratio


def critical_crack_distance_ratio(face_angle: Numeric, plane_angle: Numeric) -> Numeric:
    """Distance of the worst dry tension crack behind the crest over the height [-].

    b / H = √(cot ψ_f cot ψ_p) - cot ψ_f, face and plane [deg].

    Source: as ``critical_crack_depth_ratio``.
    """
    face, plane = np.tan(np.radians(face_angle)), np.tan(np.radians(plane_angle))
    ratio: Numeric = np.sqrt(1.0 / (face * plane)) - 1.0 / face
    return ratio
