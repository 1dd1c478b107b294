"""Cautious envelopes: a straight line under the lower limit of the mean line.

The lower one-sided limit of a fitted line, a + b σ - t s √(1/n + (σ - σ̄)²/Sxx), is concave,
so its chord across the tested range lies below it there. The chord replaces it, because a
check wants one cohesion and one friction angle. Where the chord would meet the axis below
zero, the line from the origin to the limit at the highest tested stress takes its place. That
line is above the limit at lower stresses: in a soil that has no cohesion, it lies below the
true line at mid stress in about 94 of 100 series instead of 95. With the intercept stated to
be zero, the limit is that of a line through the origin, which is straight.

Where a free intercept below zero was put to zero, the limit stays that of the free line; it
is then held to the reported line at the highest stress, which it could pass only where the
tests all but exclude that line.

Source: the limit itself is any text on regression; that a cautious value may be the lower
limit of a mean follows EN 1997-1:2004, 2.4.5.2 (7), (11). The chord is this project's own.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.line import Line, student_t

__all__ = ["cautious_line"]

Floats = NDArray[np.float64]


def cautious_line(
    line: Line,
    low: ArrayLike,
    high: ArrayLike,
    error_std: ArrayLike,
    confidence: float,
    *,
    reported: Line | None = None,
) -> tuple[Floats, Floats]:
    """Intercept and slope of the cautious line, for one series or thousands.

    Of the line whose limit is taken, with a degree of freedom or more; the ends of the tested
    range; the standard deviation the errors rest on; a one-sided confidence; and the line
    reported, where it is another one. nan where the lower limit does not rise with stress.
    """
    t = student_t(confidence, line.degrees_of_freedom)
    variance = np.asarray(error_std, dtype=float) ** 2
    lowest, highest = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    at_high = line.value(highest) - t * line.standard_error(highest, variance)
    if reported is not None:
        at_high = np.minimum(at_high, reported.value(highest))
    if line.through_origin:
        intercept, slope = np.zeros_like(at_high), at_high / highest
    else:
        at_low = line.value(lowest) - t * line.standard_error(lowest, variance)
        slope = (at_high - at_low) / (highest - lowest)
        intercept = at_low - slope * lowest
        from_origin = intercept < 0.0
        intercept = np.where(from_origin, 0.0, intercept)
        slope = np.where(from_origin, at_high / highest, slope)
    usable = slope > 0.0
    return np.where(usable, intercept, np.nan), np.where(usable, slope, np.nan)
