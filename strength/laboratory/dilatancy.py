"""Dilatancy: what the specimen's rise at peak says of the strength at constant volume.

With v the rise of the cap and h the displacement of the box, both at peak,

    tan ψ = dv/dh                                   dilation angle, upward positive
    tan φ_cv = τ/σ - tan ψ                          Taylor: energy correction
    φ_cv = φ_peak - 0.8 ψ                           Bolton, φ_peak = atan(τ/σ)

Both take the soil as cohesionless, and read the direct shear test as if its plane were the
plane of failure in plane strain. They check a strength; they do not replace a test that
reached constant volume.

Sources: Taylor (1948), Fundamentals of Soil Mechanics, ch. 14; Bolton (1986), Géotechnique
36(1), 65-78 (both recalled from memory, not read).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.notice import Notice

__all__ = [
    "bolton_critical_state_angle",
    "critical_state_notices",
    "dilation_angle",
    "taylor_critical_state_angle",
]

Floats = NDArray[np.float64]

BOLTON_SHARE = 0.8
"""Share of the dilation angle that adds to the friction angle, Bolton (1986)."""

DISAGREEMENT = 3.0
"""Difference of angles [deg] from which the cross-check speaks up; this project's own."""

MINERAL_ANGLES = "about 33° for quartz and 40° for feldspar"


def dilation_angle(rise: ArrayLike) -> Floats:
    """Dilation angle ψ [deg] from the rise of the cap per unit displacement, dv/dh [-]."""
    return np.asarray(np.degrees(np.arctan(rise)))


def taylor_critical_state_angle(stress_ratio: ArrayLike, dilation: ArrayLike) -> Floats:
    """Constant-volume friction angle [deg] after Taylor.

    ``stress_ratio`` is shear over normal stress [-], ``dilation`` an angle [deg], both at peak.
    """
    return np.asarray(np.degrees(np.arctan(stress_ratio - np.tan(np.radians(dilation)))))


def bolton_critical_state_angle(friction_angle: ArrayLike, dilation: ArrayLike) -> Floats:
    """Constant-volume friction angle [deg] after Bolton.

    ``friction_angle`` is that of the line from the origin to the peak, ``dilation`` the angle
    there [deg].
    """
    return np.asarray(np.subtract(friction_angle, np.multiply(BOLTON_SHARE, dilation)))


def critical_state_notices(
    *, peak_ratio: ArrayLike, dilation: ArrayLike, end_ratio: ArrayLike
) -> tuple[Notice, ...]:
    """What dilation at peak and the end of the tests say of the constant-volume angle.

    Of each test: shear over normal stress at peak and at the end [-], and the dilation angle at
    peak [deg], nan where it was not measured. Nothing where none was. The end is at constant
    volume only where the test went that far.
    """
    psi = np.asarray(dilation, dtype=float)
    known = np.isfinite(psi)
    if not np.any(known):
        return ()
    taylor, bolton, end, mean = (
        float(angles[known].mean())
        for angles in (
            taylor_critical_state_angle(peak_ratio, psi),
            bolton_critical_state_angle(np.degrees(np.arctan(peak_ratio)), psi),
            np.degrees(np.arctan(end_ratio)),
            psi,
        )
    )
    text = (
        f"Dilation at peak (mean ψ {mean:.1f}°) puts the constant-volume angle at {taylor:.1f}° "
        f"after Taylor and {bolton:.1f}° after Bolton, cohesion taken as zero; the end of the "
        f"tests gives {end:.1f}°."
    )
    ground = "Bolton (1986), Géotechnique 36(1); Taylor (1948)"
    low, high = min(taylor, bolton) - DISAGREEMENT, max(taylor, bolton) + DISAGREEMENT
    if end > high:
        text += " The tests had not come down to constant volume when they ended."
        return (Notice.caution("end-of-test-above-critical-state", text, ground),)
    if end < low:
        text += " Look at the sign and the zero of the vertical displacement."
        return (Notice.caution("dilation-disagrees", text, ground),)
    text += f" For comparison: {MINERAL_ANGLES}."
    return (Notice.info("critical-state-cross-check", text, ground),)
