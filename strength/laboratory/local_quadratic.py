"""Local quadratic smoothing: a curve read off noisy rows at any spacing.

At each place a parabola is fitted by least squares to the rows within half a window on
either side; its height and slope there are the smoothed value and derivative. On evenly
spaced rows this is the filter of Savitzky and Golay. With P = (XᵀX)⁻¹ of the local fit,

    var(value) = σ² P₀₀,   var(slope) = σ² P₁₁

and the gauge noise σ is estimated from the residuals r as the median of
|r| / √(1 - P₀₀), over 0.6745, so that the few places that bend more than a parabola does
not count.

Source: Savitzky and Golay (1964), Analytical Chemistry 36(8), 1627-1639.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["FEWEST_ROWS", "LocalQuadratic", "local_quadratic", "noise_about"]

FEWEST_ROWS = 7
"""A window is widened until it holds this many rows."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalQuadratic:
    """Smoothed values at the places asked for.

    ``value_factor`` is the variance of the value for unit variance of the rows. ``rows``, of
    shape (m, k), are the rows each parabola went through and ``weights`` what each counts for in
    the value there; 0 beyond the window.
    """

    at: Floats
    value: Floats
    slope: Floats
    value_factor: Floats
    rows: NDArray[np.intp]
    weights: Floats


def local_quadratic(
    x: ArrayLike, y: ArrayLike, half_window: float, at: ArrayLike | None = None
) -> LocalQuadratic:
    """Smooth y along x, with half the width of the window in the unit of x.

    ``x`` and ``y`` have the shape (n,), n of ``FEWEST_ROWS`` or more; x does not fall. ``at`` are
    the places where the curve is wanted, shape (m,); the rows' own by default.
    """
    xs, ys = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    places = xs if at is None else np.atleast_1d(np.asarray(at, dtype=float))
    count = xs.size
    nearest = np.searchsorted(xs, places) - FEWEST_ROWS // 2
    first = np.clip(nearest, 0, count - FEWEST_ROWS)
    low = np.minimum(np.searchsorted(xs, places - half_window, "left"), first)
    high = np.maximum(np.searchsorted(xs, places + half_window, "right"), first + FEWEST_ROWS)
    index = low[:, None] + np.arange(int(np.max(high - low)))
    inside = index < high[:, None]
    index = np.minimum(index, count - 1)
    distance = np.where(inside, xs[index] - places[:, None], 0.0)
    reach = np.max(np.abs(distance), axis=1)
    reach = np.where(reach > 0.0, reach, 1.0)
    scaled = distance / reach[:, None]
    design = np.stack([np.ones_like(scaled), scaled, scaled**2], axis=-1) * inside[..., None]
    products = np.swapaxes(design, -1, -2) @ design
    inverse: Floats = np.asarray(np.linalg.pinv(products, hermitian=True), dtype=float)
    moments = np.einsum("mkp,mk->mp", design, ys[index])
    coefficients = np.einsum("mpq,mq->mp", inverse, moments)
    return LocalQuadratic(
        at=places,
        value=coefficients[:, 0],
        slope=coefficients[:, 1] / reach,
        value_factor=inverse[:, 0, 0],
        rows=index,
        weights=np.einsum("mp,mkp->mk", inverse[:, 0], design),
    )


def noise_about(smooth: LocalQuadratic, y: ArrayLike) -> float:
    """Standard deviation of the rows about a curve smoothed at those rows."""
    freedom = np.clip(1.0 - smooth.value_factor, 0.0, None)
    free = freedom > 1e-9  # never none: seven rows share three parameters
    residuals = np.abs(np.asarray(y, dtype=float) - smooth.value)[free] / np.sqrt(freedom[free])
    return float(np.median(residuals) / 0.6744897501960817)
