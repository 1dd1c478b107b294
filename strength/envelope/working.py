"""The working of a fit: every step from the tests to c′ and φ′, with its numbers.

Every value is one that made the fit, or stands in a fixed relation to such values; nothing
is fitted again. The statistics are those of ``line`` and ``cautious``.

Where a free intercept below zero was put to zero, the free line comes first, as b_f and c_f:
the errors and limits further down are its own. Then the line through the origin.

Source: any text on regression; the chord of the cautious line is this project's own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from slipmargin.strength.envelope.fitted import EnvelopeFit
from slipmargin.strength.line import Line, student_t
from slipmargin.strength.working import Step, digits, put_numbers_in

__all__ = ["fit_steps"]

_MOST_TERMS = 12
"""A sum over more tests than this is not written out."""

_MEAN_LIMIT = "EN 1997-1:2004, 2.4.5.2: cautious value as lower limit of a mean"


def fit_steps(fit: EnvelopeFit) -> list[Step]:
    """Means, slope, intercept, scatter, errors, limits and cautious line, in that order.

    Parameters
    ----------
    fit
        A fitted envelope. A power curve adds its parameters, which come from a search.

    Returns
    -------
    list of Step
        Symbols: σ′ and τ of a test [unit of the tests], b = tan φ′, r the height of a test
        above the line.
    """
    working = _Working(fit)
    working.line()
    if fit.error_std is not None:
        working.errors()
        working.limits()
        working.cautious()
    if fit.curve is not None:
        working.curve()
    return working.steps


class _Working:
    """Steps so far, and the numbers they have made known."""

    def __init__(self, fit: EnvelopeFit) -> None:
        self.fit = fit
        self.unit = fit.tests.unit
        self.known: dict[str, float] = {}
        self.steps: list[Step] = []
        self.sigma = "σ′" if self.unit == "kPa" else "N"
        self.tau = "τ" if self.unit == "kPa" else "S"
        refitted = fit.through_origin and not fit.cohesion_assumed
        self.b, self.c = ("b_f", "c_f") if refitted else ("b", "c′")

    def add(
        self,
        says: str,
        symbol: str,
        value: float,
        unit: str = "",
        equation: str = "",
        *,
        terms: str | None = None,
        source: str = "",
    ) -> None:
        """One step; ``terms`` is a sum written out, where the equation holds one."""
        substituted = terms if terms is not None else ""
        if equation and terms is None:
            substituted = put_numbers_in(equation, self.known)
        self.known[symbol] = value
        self.steps.append(Step(says, symbol, value, unit, equation, substituted, source))

    def line(self) -> None:
        fit = self.fit
        self.add("Number of tests.", "n", float(fit.line.count))
        if not fit.error_line.through_origin:
            self._with_intercept(fit.error_line)
        if fit.through_origin:
            self._through_origin(fit.line)
        angle = float(fit.best_fit.friction_angle)
        self.add("Friction angle of the line.", "φ′", angle, "deg", "atan(b)")

    def _with_intercept(self, line: Line) -> None:
        unit, sigma, tau = self.unit, self.sigma, self.tau
        x, y = self.fit.tests.normal.tolist(), self.fit.tests.shear.tolist()
        slope, constant = float(line.slope), float(line.intercept)
        squares, mean = 1.0 / float(line.variance_factors[1]), float(line.mean_x)
        height = constant + slope * mean
        self.add(
            "Mean normal stress.",
            f"{sigma}_m",
            mean,
            unit,
            f"sum({sigma}) / n",
            terms=_sum([_n(a) for a in x], f") / {digits(line.count)}", "("),
        )
        self.add(
            "Mean shear stress.",
            f"{tau}_m",
            height,
            unit,
            f"sum({tau}) / n",
            terms=_sum([_n(b) for b in y], f") / {digits(line.count)}", "("),
        )
        self.add(
            "Sum of the squares about the mean.",
            "S_xx",
            squares,
            f"{unit}²",
            f"sum(({sigma} - {sigma}_m)^2)",
            terms=_sum([f"({_n(a)} - {_n(mean)})^2" for a in x]),
        )
        self.add(
            "Sum of the products about the means.",
            "S_xy",
            slope * squares,
            f"{unit}²",
            f"sum(({sigma} - {sigma}_m) * ({tau} - {tau}_m))",
            terms=_sum(
                [
                    f"({_n(a)} - {_n(mean)}) * ({_n(b)} - {_n(height)})"
                    for a, b in zip(x, y, strict=True)
                ]
            ),
        )
        free = "free line" if self.fit.through_origin else "line"
        below = ": below zero, so a line through the origin follows" if constant < 0.0 else ""
        if self.fit.intercept == "free":
            below = ""
        self.add(f"Slope of the {free}.", self.b, slope, "", "S_xy / S_xx")
        intercept = f"{tau}_m - {self.b} * {sigma}_m"
        self.add(f"Intercept of the {free}{below}.", self.c, constant, unit, intercept)

    def _through_origin(self, line: Line) -> None:
        unit, sigma, tau = self.unit, self.sigma, self.tau
        x, y = self.fit.tests.normal.tolist(), self.fit.tests.shear.tolist()
        slope, squares = float(line.slope), 1.0 / float(line.variance_factors[1])
        of_squares, of_products = ("S_xx", "S_xy") if self.c == "c′" else ("S_xx0", "S_xy0")
        self.add(
            "Sum of the squares of the normal stresses.",
            of_squares,
            squares,
            f"{unit}²",
            f"sum({sigma}^2)",
            terms=_sum([f"{_n(a)}^2" for a in x]),
        )
        self.add(
            "Sum of the products of normal and shear stress.",
            of_products,
            slope * squares,
            f"{unit}²",
            f"sum({sigma} * {tau})",
            terms=_sum([f"{_n(a)} * {_n(b)}" for a, b in zip(x, y, strict=True)]),
        )
        where = "the line" if self.c == "c′" else "the line through the origin"
        why = "c′ = 0 is assumed" if self.fit.cohesion_assumed else "the line starts at the origin"
        self.add(f"Slope of {where}.", "b", slope, "", f"{of_products} / {of_squares}")
        self.add(f"Intercept: {why}.", "c′", 0.0, unit)

    def errors(self) -> None:
        fit, line, unit = self.fit, self.fit.error_line, self.unit
        if fit.residual_std is not None:
            lost = "1" if line.through_origin else "2"
            about = "the line" if self.c == "c′" else "the free line"
            self.add(
                f"Scatter of the tests about {about}; r is the height of a test above it.",
                "s",
                fit.residual_std,
                unit,
                f"sqrt(sum(r^2) / (n - {lost}))",
                terms=_sum(
                    [f"{_n(r)}^2" for r in line.residuals.tolist()],
                    f") / ({digits(line.count)} - {lost}))",
                    "sqrt((",
                ),
            )
        if fit.error_std is not None and fit.error_std != fit.residual_std:
            self.add(self._in_its_place(fit.error_std), "s", fit.error_std, unit)
        assert fit.standard_error_tan is not None
        self.add(
            "Standard error of the slope.", "s_b", fit.standard_error_tan, "", "s / sqrt(S_xx)"
        )
        if fit.standard_error_cohesion is not None and fit.correlation is not None:
            sigma = self.sigma
            self.add(
                "Standard error of the intercept.",
                "s_c",
                fit.standard_error_cohesion,
                unit,
                f"s * sqrt(1 / n + {sigma}_m^2 / S_xx)",
            )
            self.add(
                "Correlation of intercept and slope: neither may be varied without the other.",
                "ρ",
                fit.correlation,
                "",
                f"-{sigma}_m / sqrt(S_xx / n + {sigma}_m^2)",
            )

    def _in_its_place(self, error_std: float) -> str:
        if error_std == self.fit.tests.band_std:
            return (
                "The reading bands are wider than that scatter: their standard deviation, "
                "half-width over √3, takes its place."
            )
        return (
            "Repeated readings spread more than that scatter allows: the standard deviation they "
            "give the means, pooled over the tests, takes its place."
        )

    def limits(self) -> None:
        fit, interval = self.fit, self.fit.interval
        if interval is None:
            return
        level = (1.0 + interval.confidence) / 2.0
        freedom = fit.degrees_of_freedom
        self.add(
            f"Student t at {level:.4g} for {freedom} degree{'s' if freedom > 1 else ''} of "
            f"freedom: limits with {interval.confidence:.4g} between them.",
            "t",
            student_t(level, freedom),
        )
        if interval.cohesion is not None:
            low, high = interval.cohesion
            below, above = f"{self.c} - t * s_c", f"{self.c} + t * s_c"
            if fit.intercept != "free":
                below = f"max({below}, 0)"
            if self.c != "c′":
                above = f"max({above}, 0)"
            self.add("Lower limit of the intercept.", "c_low", low, self.unit, below)
            self.add("Upper limit of the intercept.", "c_high", high, self.unit, above)
        low, high = interval.friction_angle
        b = self.b
        self.add("Lower limit of the friction angle.", "φ_low", low, "deg", f"atan({b} - t * s_b)")
        self.add(
            "Upper limit of the friction angle.", "φ_high", high, "deg", f"atan({b} + t * s_b)"
        )

    def cautious(self) -> None:
        fit, line = self.fit, self.fit.error_line
        pair, error = fit.cautious, fit.error_std
        if pair is None or error is None:
            return
        freedom, sigma, tau, unit = fit.degrees_of_freedom, self.sigma, self.tau, self.unit
        self.add(
            f"Student t, one-sided at {fit.confidence:.4g}.",
            "t_1",
            student_t(fit.confidence, freedom),
        )
        low, high = fit.normal_range
        t = self.known["t_1"]
        ends = [("high", "highest", high)]
        if not line.through_origin:
            ends.insert(0, ("low", "lowest", low))
        for end, word, stress in ends:
            at = f"{sigma}_{end}"
            self.add(f"The {word} normal stress tested.", at, stress, unit)
            spread = (
                f"s_b * {at}"
                if line.through_origin
                else f"s * sqrt(1 / n + ({at} - {sigma}_m)^2 / S_xx)"
            )
            limit = float(line.value(stress) - t * line.standard_error(stress, error**2))
            below = f"{self.c} + {self.b} * {at} - t_1 * {spread}"
            says = "Lower limit of the mean line there."
            if end == "high" and fit.line.value(stress) < limit:
                limit, below = float(fit.line.value(stress)), f"b * {at}"
                says = (
                    "The lower limit of the free line there is above the line used, which counts."
                )
            self.add(says, f"{tau}_{end}", limit, unit, below, source=_MEAN_LIMIT)
        slope, cohesion = math.tan(math.radians(float(pair.friction_angle))), float(pair.cohesion)
        if line.through_origin or cohesion == 0.0:
            says = (
                "Slope of the cautious line, from the origin to that limit."
                if line.through_origin
                else "The chord between the limits meets the axis below zero: slope of the line "
                "from the origin to the upper one instead."
            )
            self.add(says, "b_k", slope, "", f"{tau}_high / {sigma}_high")
            self.add("Cautious cohesion.", "c_k", 0.0, unit)
        else:
            self.add(
                "Slope of the cautious line, the chord between these limits.",
                "b_k",
                slope,
                "",
                f"({tau}_high - {tau}_low) / ({sigma}_high - {sigma}_low)",
            )
            self.add("Cautious cohesion.", "c_k", cohesion, unit, f"{tau}_low - b_k * {sigma}_low")
        angle = float(pair.friction_angle)
        self.add("Cautious friction angle.", "φ_k", angle, "deg", "atan(b_k)")

    def curve(self) -> None:
        curve, cautious = self.fit.curve, self.fit.cautious_curve
        assert curve is not None
        self.add("Reference pressure of the power curve.", "p_a", curve.reference_pressure, "kPa")
        self.add(
            "Coefficient of the power curve τ = A p_a (σ′ / p_a)^m, by least squares.",
            "A",
            float(curve.coefficient),
        )
        self.add("Its exponent, found with it.", "m", float(curve.exponent))
        if cautious is not None:
            self.add("Coefficient of the cautious curve.", "A_k", float(cautious.coefficient))
            self.add("Its exponent.", "m_k", float(cautious.exponent))


def _n(value: float) -> str:
    text = digits(value)
    return f"({text})" if text.startswith("-") or "e" in text else text


def _sum(terms: Sequence[str], after: str = "", before: str = "") -> str:
    """A sum written out; empty where it is too long to be followed."""
    return before + " + ".join(terms) + after if len(terms) <= _MOST_TERMS else ""
