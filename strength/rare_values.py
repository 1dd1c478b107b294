"""Values that are possible but rare: mostly a slip of unit or of column.

The ranges are common practice, no source. Nothing is refused for them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from slipmargin.strength.notice import Notice

if TYPE_CHECKING:
    from slipmargin.strength.envelope.fitted import FittedEnvelope
    from slipmargin.strength.laboratory.specimen import Specimen

__all__ = [
    "STEEPEST",
    "USUAL_COHESION",
    "USUAL_FRICTION_ANGLE",
    "rare_fit",
    "rare_specimen",
    "rare_value",
]

USUAL_COHESION = (0.1, 60.0)
"""Effective cohesion [kPa], where there is one."""

USUAL_FRICTION_ANGLE = (5.0, 45.0)
"""Effective friction angle [deg]."""

STEEPEST = 60.0
"""Effective friction angle [deg] that no soil has."""

_NORMAL = {"kPa": (1.0, 3000.0), "N": (1.0, 300_000.0)}
_WIDTH = (30.0, 310.0)
_RADIANS = "unit, such as radians for degrees"


def rare_value(
    what: str, value: float, unit: str, usual: tuple[float, float], slip: str = "unit"
) -> list[Notice]:
    """A question about a value whose size lies outside its usual range; zero is no size.

    ``what`` comes before the value, ``slip`` is what to look for where the unit alone is not it.
    """
    low, high = usual
    if value == 0.0 or low <= abs(value) <= high:
        return []
    if unit == "deg" and abs(value) < low:
        slip = _RADIANS
    said = f"{what} {value:.5g} {unit}".rstrip()
    range_said = f"up to {high:g}" if low == 0.0 else f"{low:g} to {high:g}"
    return [
        Notice.caution(
            "rare-value",
            f"{said} is rare; {range_said} is usual. Look for a slip of {slip}.",
            "common practice, no source",
        )
    ]


def rare_fit(fit: FittedEnvelope) -> list[Notice]:
    """Questions about the loads of the tests and the pair they give."""
    unit = fit.tests.unit
    slip = "unit or swapped columns"
    found: list[Notice] = []
    loads = "normal stress" if unit == "kPa" else "normal force"
    for end, load in zip(("lowest", "highest"), fit.normal_range, strict=True):
        found += rare_value(f"The fit: {end} {loads}", load, unit, _NORMAL[unit])
    if unit == "kPa":
        # the intercept of a line may come out as small as it likes
        usual = (0.0, USUAL_COHESION[1])
        found += rare_value("The fit: cohesion", float(fit.best_fit.cohesion), unit, usual, slip)
    angle = float(fit.best_fit.friction_angle)
    if angle > STEEPEST and not fit.plane.has_circles:
        return [
            *found,
            Notice.caution(
                "lever-or-constant-forgotten",
                f"The fit: friction angle {angle:.1f} deg is above that of any soil. Has the lever "
                "ratio been left out of the normal loads, or the ring constant out of the shear "
                "loads? Look for swapped columns too.",
                "common practice, no source",
            ),
        ]
    return found + rare_value("The fit: friction angle", angle, "deg", USUAL_FRICTION_ANGLE, slip)


def rare_specimen(specimen: Specimen | None) -> list[Notice]:
    """A question about the size of a specimen."""
    if specimen is None:
        return []
    return rare_value("The fit: width of the specimen", specimen.width, "mm", _WIDTH)
