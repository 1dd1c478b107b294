"""The joint doubt in c′ and tan φ′ of one fit: samples, regions, moments.

The pair (c′, tan φ′) of a least-squares line with ν degrees of freedom follows a bivariate t
about the true line, with the scale matrix s² (XᵀX)⁻¹. Its two halves are strongly and
negatively correlated: a line that starts higher is flatter. Error bars taken one at a time
describe a rectangle most of whose corners the data exclude.

Samples are kept where c′ >= 0 and tan φ′ > 0: the rest are not strengths.

Source: Draper & Smith, Applied Regression Analysis, on joint confidence regions; the
sampling is the standard construction of a multivariate t from a normal and a χ².
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri, fdtri, ndtri

from strength.envelope_fit import EnvelopeFit
from strength.errors import InputError

__all__ = ["JointStrength"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class JointStrength:
    """The distribution of (c′, tan φ′) of one fit.

    Parameters
    ----------
    cohesion, tan_friction_angle
        The fitted pair [kPa, -], the centre.
    factor
        Lower triangle L with L Lᵀ the scale matrix; its first row is zero for a line
        through the origin.
    degrees_of_freedom
        Of the t distribution.

    Examples
    --------
    >>> import numpy as np
    >>> from strength import JointStrength, Readings, fit_envelope, reduce_readings
    >>> unknown = np.full(4, np.nan)
    >>> readings = Readings(
    ...     test=("1", "2", "3", "4"),
    ...     state=("peak",) * 4,
    ...     normal=np.array([25.0, 50.0, 100.0, 150.0]),
    ...     shear=np.array([20.3, 35.2, 65.8, 94.9]),
    ...     low=unknown,
    ...     high=unknown,
    ...     unit="kPa",
    ... )
    >>> doubt = JointStrength.of(fit_envelope(reduce_readings(readings)))
    >>> cohesion, friction_angle = doubt.pairs(np.random.default_rng(1).random((1000, 3)))
    >>> bool(np.corrcoef(cohesion, friction_angle)[0, 1] < -0.5)  # the two are tied
    True
    """

    cohesion: float
    tan_friction_angle: float
    factor: Floats
    degrees_of_freedom: int

    @classmethod
    def of(cls, fit: EnvelopeFit) -> JointStrength:
        """The distribution a fit leaves.

        Raises
        ------
        InputError
            Tests that show no scatter, or readings in forces with an intercept.
        """
        if fit.error_std is None:
            raise InputError(
                "tests",
                f"{len(fit.tests.names)}",
                "too few tests to know the doubt in their line",
            )
        if fit.tests.unit == "N" and not fit.through_origin:
            raise InputError("specimen", "none", "a cohesion in kPa needs the specimen's width")
        of_intercept, of_slope, joint = (float(v) for v in fit.line.variance_factors)
        s = fit.error_std
        if fit.through_origin:
            factor = s * np.array([[0.0, 0.0], [0.0, math.sqrt(of_slope)]])
        else:
            factor = s * np.linalg.cholesky(np.array([[of_intercept, joint], [joint, of_slope]]))
        return cls(
            cohesion=float(fit.best_fit.cohesion),
            tan_friction_angle=float(fit.line.slope),
            factor=factor,
            degrees_of_freedom=fit.degrees_of_freedom,
        )

    @property
    def through_origin(self) -> bool:
        """Whether the cohesion is held at zero."""
        return not self.factor[0].any()

    @property
    def covariance(self) -> Floats | None:
        """Covariance of the pair, untruncated; ``None`` for ν <= 2, where it has none."""
        nu = self.degrees_of_freedom
        if nu <= 2:
            return None
        result: Floats = self.factor @ self.factor.T * (nu / (nu - 2))
        return result

    @property
    def scale(self) -> Floats:
        """Scale matrix: squared standard errors and their product with the correlation."""
        result: Floats = self.factor @ self.factor.T
        return result

    def pairs(self, uniforms: Floats) -> tuple[Floats, Floats]:
        """Pairs for points of the unit cube.

        Parameters
        ----------
        uniforms
            Shape (n, 3), each strictly between 0 and 1; evenly spread points give an
            evenly spread sample.

        Returns
        -------
        cohesion, friction_angle
            [kPa] and [deg], shape (n,); not truncated, see ``possible``.
        """
        normal = ndtri(uniforms[:, :2])
        chi2 = chdtri(self.degrees_of_freedom, uniforms[:, 2])
        stretch = np.sqrt(self.degrees_of_freedom / chi2)
        shift = (normal @ self.factor.T) * stretch[:, None]
        return (
            self.cohesion + shift[:, 0],
            np.degrees(np.arctan(self.tan_friction_angle + shift[:, 1])),
        )

    @staticmethod
    def possible(cohesion: Floats, friction_angle: Floats) -> NDArray[np.bool_]:
        """Which pairs are strengths: cohesion not negative, angle above zero."""
        result: NDArray[np.bool_] = (cohesion >= 0.0) & (friction_angle > 0.0)
        return result

    def region(
        self, confidence: float, points: int = 180, *, single: bool = False
    ) -> tuple[Floats, Floats]:
        """Outline of the joint confidence region.

        Parameters
        ----------
        confidence
            Such as 0.95.
        points
            On the outline; a line through the origin has an interval of two.
        single
            Draw the smaller outline whose shadows on the axes are the intervals of c′ and
            tan φ′ alone; the interval of any one factor is found along it.

        Returns
        -------
        cohesion, friction_angle
            [kPa] and [deg]; the outline is not cut at zero.
        """
        nu = self.degrees_of_freedom
        if self.through_origin:
            reach = math.sqrt(float(fdtri(1, nu, confidence)))
            ends = self.tan_friction_angle + reach * self.factor[1, 1] * np.array([-1.0, 1.0])
            return np.zeros(2), np.degrees(np.arctan(ends))
        squared = fdtri(1, nu, confidence) if single else 2.0 * fdtri(2, nu, confidence)
        reach = math.sqrt(float(squared))
        turn = np.linspace(0.0, 2.0 * np.pi, points)
        circle = np.stack([np.cos(turn), np.sin(turn)])
        shift = reach * self.factor @ circle
        return (
            self.cohesion + shift[0],
            np.degrees(np.arctan(self.tan_friction_angle + shift[1])),
        )

    def distance(self, cohesion: float, friction_angle: float) -> float:
        """Squared distance of a pair from the centre, as an F statistic.

        Over 2 degrees of freedom (1 through the origin); infinite off the axis there.
        """
        shift = np.array(
            [
                cohesion - self.cohesion,
                math.tan(math.radians(friction_angle)) - self.tan_friction_angle,
            ]
        )
        if self.through_origin:
            return math.inf if shift[0] else float((shift[1] / self.factor[1, 1]) ** 2)
        whitened = np.linalg.solve(self.factor, shift)
        return float(whitened @ whitened) / 2.0
