"""Straight lines by other people's least squares, and their joint regions by simulation."""

from __future__ import annotations

from typing import Any

import numpy as np
import statsmodels.api as sm
from scipy import stats


def least_squares(normal: Any, shear: Any) -> dict[str, float]:
    """Intercept, slope, errors and limits by statsmodels, and by numpy beside it."""
    design = sm.add_constant(normal)
    fit = sm.OLS(shear, design).fit()
    by_numpy, *_ = np.linalg.lstsq(design, shear, rcond=None)
    np.testing.assert_allclose(by_numpy, fit.params, rtol=1e-8)
    (c_low, c_high), (b_low, b_high) = fit.conf_int(0.05)
    covariance = fit.cov_params()
    return {
        "intercept": float(fit.params[0]),
        "slope": float(fit.params[1]),
        "intercept_error": float(fit.bse[0]),
        "slope_error": float(fit.bse[1]),
        "correlation": float(covariance[0, 1] / np.sqrt(covariance[0, 0] * covariance[1, 1])),
        "intercept_low": float(c_low),
        "intercept_high": float(c_high),
        "slope_low": float(b_low),
        "slope_high": float(b_high),
        "r_squared": float(fit.rsquared),
        "residual_std": float(np.sqrt(fit.scale)),
    }


def through_origin(normal: Any, shear: Any) -> dict[str, float]:
    """Slope, its error and its one-sided lower limit at 95 % of a line through the origin."""
    fit = sm.OLS(shear, np.asarray(normal)[:, None]).fit()
    t = stats.t.ppf(0.95, fit.df_resid)
    return {
        "slope": float(fit.params[0]),
        "slope_error": float(fit.bse[0]),
        "slope_cautious": float(fit.params[0] - t * fit.bse[0]),
    }


def joint_statistic(normal: Any, shear: Any, intercept: float, slope: float) -> float:
    """F statistic of a pair: how much more the squares come to than about the best line."""
    design = sm.add_constant(normal)
    fit = sm.OLS(shear, design).fit()
    residual = np.asarray(shear) - intercept - slope * np.asarray(normal)
    more = float(residual @ residual) - float(fit.ssr)
    return more / 2.0 / float(fit.scale)
