"""How far a shaken slope slides: Newmark's block, by regressions on recorded motions.

A block stays put until the ground accelerates by its yield coefficient k_y, and slides for as long
as it does so. With r = k_y / a_p, a_p the peak ground acceleration over gravity, the median
displacement [cm] and the standard deviation of its common logarithm are

    Jibson (2007), with magnitude   log d = -2.710 + log((1 - r)^2.335 r^-1.478) + 0.424 M    0.454
    Jibson (2007), without          log d = 0.215 + log((1 - r)^2.341 r^-1.438)               0.510
    Ambraseys & Menu (1988)         log d = 0.90 + log((1 - r)^2.53 r^-1.09)                  0.30

and, with the peak velocity v, Newmark (1965) bounds the displacement of four strong motions by
3 v² / (g k_y), or where that is less by v² a_p / (2 g k_y²).

Assumptions: the block is rigid, its strength does not fall as it slides, and it slides one way.
The regressions tell whether a slope moves centimetres or metres; a real displacement differs.

Limits: the magnitudes and ratios r of the records behind them. At no yield coefficient the slope
slides unshaken, and there is no displacement to give.

Sources: Newmark (1965), Géotechnique 15(2), 139-160; Ambraseys & Menu (1988), Earthquake Eng.
Struct. Dyn. 16, 985-1006; Jibson (2007), Engineering Geology 91, 209-218. Coefficients, scatter
and ranges of all three are from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from slipmargin.stability.fields import Amount, given
from slipmargin.strength import InputError, Notice, Numeric

__all__ = [
    "NewmarkInputs",
    "NewmarkValues",
    "ambraseys_menu",
    "jibson",
    "jibson_magnitude",
    "newmark_bound",
    "newmark_notices",
    "newmark_values",
]

GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s²]."""

JIBSON_MAGNITUDES = (5.3, 7.6)
AMBRASEYS_MENU_MAGNITUDES = (6.6, 7.3)
RATIOS = (0.1, 0.9)
"""Magnitudes and ratios k_y / a_p behind the regressions (from memory)."""

_JIBSON = "Jibson (2007), Engineering Geology 91 (from memory)"
_AMBRASEYS_MENU = "Ambraseys & Menu (1988), Earthquake Eng. Struct. Dyn. 16 (from memory)"
_NEWMARK = "Newmark (1965), Géotechnique 15(2) (from memory)"
_WITHOUT = "no peak acceleration, or sliding unshaken: nan."
_HIGH = f"That displacement and one standard deviation of its logarithm; {_WITHOUT}"
_BY_JIBSON: dict[str, Any] = {"source": _JIBSON, "hangs_on": ("a_p",)}
_BY_AMBRASEYS: dict[str, Any] = {"source": _AMBRASEYS_MENU, "hangs_on": ("a_p",)}


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class NewmarkInputs:
    """A ground motion for the displacement in shaking; scalars or arrays that broadcast."""

    __slots__ = ()

    peak_acceleration: Annotated[
        Numeric | None,
        Amount(
            "ratio",
            "a_p",
            "Peak horizontal acceleration of the ground over gravity, for the displacement in "
            "shaking; it does not enter the factor. None is none.",
            above=0.0,
            high=5.0,
        ),
    ] = None
    magnitude: Annotated[
        Numeric | None,
        Amount(
            "ratio",
            "M_w",
            "Moment magnitude of the earthquake, for the displacement; none is unknown.",
            low=3.0,
            high=9.6,
        ),
    ] = None
    peak_velocity: Annotated[
        Numeric | None,
        Amount(
            "velocity",
            "v_p",
            "Peak horizontal velocity of the ground, for a bound of the displacement; none is "
            "none.",
            above=0.0,
        ),
    ] = None

    @property
    def has_motion(self) -> bool:
        """Whether a displacement is asked for."""
        return self.peak_acceleration is not None or self.peak_velocity is not None


@dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)
class NewmarkValues:
    """Displacements in shaking."""

    __slots__ = ()

    displacement_jibson: Numeric = given(
        "m",
        "d_J",
        f"Median displacement in shaking by Jibson's regression; {_WITHOUT}",
        **_BY_JIBSON,
    )
    displacement_jibson_high: Numeric = given("m", "d_Jh", _HIGH, **_BY_JIBSON)
    displacement_ambraseys_menu: Numeric = given(
        "m",
        "d_A",
        f"Median displacement in shaking by the regression of Ambraseys and Menu; {_WITHOUT}",
        **_BY_AMBRASEYS,
    )
    displacement_ambraseys_menu_high: Numeric = given("m", "d_Ah", _HIGH, **_BY_AMBRASEYS)
    displacement_bound: Numeric = given(
        "m",
        "d_v",
        "Newmark's bound of the displacement from the peak velocity; no peak velocity, or sliding "
        "unshaken: nan.",
        source=_NEWMARK,
        hangs_on=("v_p",),
    )


def jibson(yield_coefficient: Numeric, peak_acceleration: Numeric) -> Numeric:
    """Median displacement without a magnitude [m]; 0 where the yield coefficient is not reached.

    Examples
    --------
    >>> from slipmargin.stability.ground.newmark import jibson
    >>> round(float(jibson(0.09, 0.3)), 4)
    0.0402
    """
    return _regression(yield_coefficient, peak_acceleration, 10.0**0.215, 2.341, -1.438)


def jibson_magnitude(
    yield_coefficient: Numeric, peak_acceleration: Numeric, magnitude: Numeric
) -> Numeric:
    """Median displacement of an earthquake of a magnitude [m].

    Examples
    --------
    >>> from slipmargin.stability.ground.newmark import jibson_magnitude
    >>> round(float(jibson_magnitude(0.09, 0.3, 7.0)), 4)
    0.0467
    """
    size = 10.0 ** (0.424 * magnitude - 2.710)
    return _regression(yield_coefficient, peak_acceleration, size, 2.335, -1.478)


def ambraseys_menu(yield_coefficient: Numeric, peak_acceleration: Numeric) -> Numeric:
    """Median displacement [m], of earthquakes of magnitude 6.6 to 7.3 near by.

    Examples
    --------
    >>> from slipmargin.stability.ground.newmark import ambraseys_menu
    >>> round(float(ambraseys_menu(0.09, 0.3)), 4)
    0.1197
    """
    return _regression(yield_coefficient, peak_acceleration, 10.0**0.90, 2.53, -1.09)


def _regression(
    k_y: Numeric, a_p: Numeric, size: Numeric, of_spare: float, of_ratio: float
) -> Numeric:
    """The form that all of them share, from their powers [m]."""
    ratio = k_y / a_p
    moved: Numeric = size * np.maximum(1.0 - ratio, 0.0) ** of_spare * ratio**of_ratio / 100.0
    return moved


def newmark_bound(
    yield_coefficient: Numeric, peak_velocity: Numeric, peak_acceleration: Numeric | None = None
) -> Numeric:
    """Bound of the displacement from the peak velocity [m/s] and, where it is known, the peak
    acceleration over gravity [m].
    """
    long = 3.0 * peak_velocity**2 / (GRAVITY * yield_coefficient)
    if peak_acceleration is None:
        return long
    short = peak_velocity**2 * peak_acceleration / (2.0 * GRAVITY * yield_coefficient**2)
    return np.where(yield_coefficient >= peak_acceleration, 0.0, np.minimum(long, short))


def newmark_values(motion: NewmarkInputs, yield_coefficient: Numeric) -> dict[str, Numeric]:
    """The fields of :class:`NewmarkValues`, nan as far as the motion is not given; ``InputError``:
    a magnitude without a peak acceleration.
    """
    peak, magnitude, velocity = motion.peak_acceleration, motion.magnitude, motion.peak_velocity
    if magnitude is not None and peak is None:
        raise InputError("magnitude", magnitude, "allowed only beside a peak_acceleration")
    found: dict[str, Any] = dict.fromkeys(NewmarkValues.__dataclass_fields__, np.nan)
    slides = np.less_equal(yield_coefficient, 0.0)
    k_y = np.where(slides, 1.0, yield_coefficient)

    def where_held(displacement: Numeric) -> Numeric:
        return np.where(slides, np.nan, displacement)

    if peak is not None:
        by_jibson = jibson(k_y, peak)
        scatter = 0.510
        if magnitude is not None:
            by_jibson, scatter = jibson_magnitude(k_y, peak, magnitude), 0.454
        by_ambraseys = ambraseys_menu(k_y, peak)
        found["displacement_jibson"] = where_held(by_jibson)
        found["displacement_jibson_high"] = where_held(10.0**scatter * by_jibson)
        found["displacement_ambraseys_menu"] = where_held(by_ambraseys)
        found["displacement_ambraseys_menu_high"] = where_held(10.0**0.30 * by_ambraseys)
    if velocity is not None:
        found["displacement_bound"] = where_held(newmark_bound(k_y, velocity, peak))
    return found


def newmark_notices(
    motion: NewmarkInputs, values: NewmarkValues, yield_coefficient: Numeric
) -> Iterator[Notice]:
    """What must not be parted from a displacement: its scatter, and where it leaves its range."""
    if not motion.has_motion:
        return
    k_y = np.asarray(yield_coefficient, dtype=float)
    if np.all(np.isnan(k_y)):
        yield Notice.caution(
            "no-displacement-given",
            "No displacement in shaking is given, since this case has no yield coefficient.",
        )
        return
    if np.any(k_y <= 0.0):
        yield Notice.caution(
            "slides-unshaken",
            "The yield coefficient is zero: it slides without shaking, and no displacement can be "
            "given.",
        )
    yield Notice.caution(
        "displacement-by-regression",
        _said(values)
        + "A rigid block that keeps its strength: soil that softens or loses strength in shaking "
        "moves further. Of use for orders of size.",
        "Newmark (1965), Géotechnique 15(2)",
    )
    if motion.peak_acceleration is None:
        return
    ratio = k_y / np.asarray(motion.peak_acceleration, dtype=float)
    low, high = RATIOS
    if np.any((ratio < low) | ((ratio > high) & (ratio < 1.0))):
        yield Notice.caution(
            "displacement-outside-range",
            f"The yield coefficient over the peak acceleration is outside {low:g} to {high:g}, "
            "the range of the regressions.",
            _AMBRASEYS_MENU,
        )
    if motion.magnitude is None:
        return
    size = np.asarray(motion.magnitude, dtype=float)
    for (low, high), what, ground in (
        (JIBSON_MAGNITUDES, "Jibson's regression", _JIBSON),
        (AMBRASEYS_MENU_MAGNITUDES, "that of Ambraseys and Menu", _AMBRASEYS_MENU),
    ):
        if np.any((size < low) | (size > high)):
            yield Notice.caution(
                "magnitude-outside-range",
                f"The magnitude is outside {low:g} to {high:g}, the range of {what}.",
                ground,
            )


def _said(values: NewmarkValues) -> str:
    """The displacements of a single case in words, with their scatter."""
    said = []
    for name, who in (("jibson", "Jibson"), ("ambraseys_menu", "Ambraseys and Menu")):
        median, high = (
            np.asarray(getattr(values, f"displacement_{name}{end}"), dtype=float)
            for end in ("", "_high")
        )
        if median.ndim == 0 and np.isfinite(median):
            said.append(f"{_size(median)} (one standard deviation up: {_size(high)}) by {who}")
    bound = np.asarray(values.displacement_bound, dtype=float)
    if bound.ndim == 0 and np.isfinite(bound):
        said.append(f"no more than {_size(bound)} by Newmark's bound")
    return f"Displacement in shaking: {', '.join(said)}. " if said else ""


def _size(displacement: Any) -> str:
    metres = float(displacement)
    return f"{100.0 * metres:.2g} cm" if metres < 0.995 else f"{metres:.2g} m"
