"""Ordinary least squares of a straight line, for one series or thousands at once.

y = a + b x, or y = b x. Equal weights. With n points, x̄ their mean and Sxx = Σ(x - x̄)²,

    s² = Σ r² / (n - 2),   var b = s² / Sxx,   var a = s² (1/n + x̄²/Sxx),
    cov(a, b) = -x̄ s² / Sxx

and through the origin s² = Σ r² / (n - 1), var b = s² / Σx².

In a fit of tests s is the largest of three: this scatter, what the reading bands give, and what
repeated readings give (see ``fit``).

Source: any text on regression; checked against the certified sets Norris and NoInt1 of the
NIST Statistical Reference Datasets.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike, NDArray

__all__ = ["Line", "fit_line", "student_t"]

Floats = NDArray[np.float64]


def student_t(probability: float, degrees_of_freedom: int) -> float:
    """Quantile of Student's t at a cumulative probability."""
    return float(scipy.special.stdtrit(degrees_of_freedom, probability))


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A fitted line; every array has the shape of the series, without the points' axis.

    ``residual_variance`` and what follows from it are nan without degrees of freedom.
    ``variance_factors`` are var a, var b and cov(a, b) for unit residual variance.
    ``count`` is the number of points of a series.
    """

    intercept: Floats
    slope: Floats
    residuals: Floats
    residual_variance: Floats
    degrees_of_freedom: int
    r_squared: Floats
    mean_x: Floats
    variance_factors: tuple[Floats, Floats, Floats]
    count: int
    through_origin: bool

    def value(self, x: ArrayLike) -> Floats:
        """Height of the line at x."""
        return np.asarray(self.intercept + self.slope * np.asarray(x, dtype=float))

    def standard_error(self, x: ArrayLike, variance: ArrayLike | None = None) -> Floats:
        """Standard error of the line's height at x.

        ``variance`` stands in for the residual variance where another is to be used.
        """
        s2 = self.residual_variance if variance is None else np.asarray(variance, dtype=float)
        factor = self._variance_factor(x, self.mean_x, self.variance_factors[1])
        return np.asarray(np.sqrt(s2 * factor))

    def leverage(self, x: ArrayLike) -> Floats:
        """Share of a point at x in the height of the line there; points on the last axis."""
        return self._variance_factor(x, self.mean_x[..., None], self.variance_factors[1][..., None])

    def distance(
        self, intercept: ArrayLike, slope: ArrayLike, variance: ArrayLike | None = None
    ) -> Floats:
        """Squared distance of a stated line from the fit, in its own standard errors.

        It is the quadratic form of the covariance, so intercept and slope are judged
        together. Over the number of fitted parameters it follows Fisher's F for the true
        line. Through the origin the intercept is not looked at.
        """
        s2 = self.residual_variance if variance is None else np.asarray(variance, dtype=float)
        constant, rise = np.asarray(intercept, dtype=float), np.asarray(slope, dtype=float)
        of_slope = (self.slope - rise) ** 2 / self.variance_factors[1]
        if self.through_origin:
            return np.asarray(of_slope / s2)
        # height at the mean stress and slope are independent of each other
        at_mean = self.value(self.mean_x) - (constant + rise * self.mean_x)
        return np.asarray((self.count * at_mean**2 + of_slope) / s2)

    def _variance_factor(self, x: ArrayLike, mean_x: Floats, of_slope: Floats) -> Floats:
        """Variance of the line's height at x for unit residual variance."""
        at = np.asarray(x, dtype=float)
        if self.through_origin:
            return np.asarray(at**2 * of_slope)
        return np.asarray(1.0 / self.count + (at - mean_x) ** 2 * of_slope)


def fit_line(x: ArrayLike, y: ArrayLike, *, intercept: bool = True) -> Line:
    """Fit y on x by least squares along the last axis.

    Parameters
    ----------
    x, y
        Points, shape (..., n); leading axes are independent series and broadcast.
    intercept
        False forces the line through the origin.

    Returns
    -------
    Line
        Slope and intercept are nan where all x of a series are equal (or, through the
        origin, all zero).

    Examples
    --------
    Two series at once; the second rises by 0.5 a step:

    >>> from slipmargin.strength import fit_line
    >>> line = fit_line([1.0, 2.0, 3.0], [[1.0, 2.0, 4.0], [1.0, 1.5, 2.0]])
    >>> line.slope.round(6).tolist()
    [1.5, 0.5]
    """
    xs, ys = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
    n, mean_x = xs.shape[-1], xs.mean(axis=-1)
    # a line turns about the mean point, whose height has the variance 1/n, or about the origin
    from_x, from_y = (mean_x, ys.mean(axis=-1)) if intercept else np.zeros((2, *mean_x.shape))
    of_height = 1.0 / n if intercept else 0.0
    dx, dy = xs - from_x[..., None], ys - from_y[..., None]
    with np.errstate(divide="ignore", invalid="ignore"):
        sxx = np.sum(dx**2, axis=-1)
        sxx = np.where(sxx > 1e-18 * np.sum(xs**2, axis=-1), sxx, np.nan)
        slope = np.sum(dx * dy, axis=-1) / sxx
        residuals, total = dy - slope[..., None] * dx, np.sum(dy**2, axis=-1)
        freedom = n - (2 if intercept else 1)
        squares = np.sum(residuals**2, axis=-1)
        variance = squares / freedom if freedom > 0 else np.full_like(slope, np.nan)
        r_squared = np.where(total > 0.0, 1.0 - squares / total, np.nan)
    return Line(
        intercept=from_y - slope * from_x,
        slope=slope,
        residuals=residuals,
        residual_variance=variance,
        degrees_of_freedom=max(freedom, 0),
        r_squared=r_squared,
        mean_x=mean_x,
        variance_factors=(of_height + from_x**2 / sxx, 1.0 / sxx, -from_x / sxx),
        count=n,
        through_origin=not intercept,
    )
