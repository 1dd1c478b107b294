"""The working of a fit: every step from the tests to c′ and φ′, with its numbers.

Every value is one that made the fit, or stands in a fixed relation to such values; nothing
is fitted again. The statistics are those of ``line`` and ``cautious``.

Where a free intercept below zero was put to zero, the free line comes first, as b_f and c_f:
the errors and limits further down are its own. Then the line through the origin.

Source: any text on regression; the chord of the cautious line is this project's own.
"""

from __future__ import annotations

import math

import numpy as np

from slipmargin.strength.envelope.fitted import FittedEnvelope
from slipmargin.strength.line import Line, student_t
from slipmargin.strength.pair import Pair
from slipmargin.strength.working import Step, Working, digits, term

__all__ = ["fit_steps"]

_MEAN_LIMIT = "EN 1997-1:2004, 2.4.5.2: cautious value as lower limit of a mean"


def fit_steps(fit: FittedEnvelope) -> list[Step]:
    """Means, slope, intercept, scatter, errors, limits and cautious line, in that order.

    A power curve adds its parameters, which come from a search. Symbols: σ′ and τ of a test [unit
    of the tests], b = tan φ′, r the height of a test above the line.
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


class _Working(Working):
    """Steps of a fit so far."""

    def __init__(self, fit: FittedEnvelope) -> None:
        super().__init__()
        self.fit = fit
        self.unit = fit.tests.unit
        plane = fit.plane
        self.sigma = plane.normal_symbol if self.unit == "kPa" else "N"
        self.tau = plane.shear_symbol if self.unit == "kPa" else "S"
        self.carried = plane.intercept_symbol != "c′"  # the line is not yet the envelope
        self.student = "T" if self.carried else "t"  # t is the radius of a circle there
        self.refitted = fit.through_origin and not fit.cohesion_assumed
        self.b, self.c = "b", plane.intercept_symbol
        if self.refitted:
            self.b, self.c = "b_f", f"{plane.intercept_symbol[0]}_f"
        self.x_words, self.y_words = plane.normal_words, plane.shear_words
        self.x, self.y = fit.tests.normal.tolist(), fit.tests.shear.tolist()

    def line(self) -> None:
        fit = self.fit
        self.add("Number of tests.", "n", float(fit.line.count))
        if not fit.error_line.through_origin:
            self._with_intercept(fit.error_line)
        if fit.through_origin:
            self._through_origin(fit.line)
        best, equation = fit.best_fit, f"{fit.plane.angle_function}(b)"
        self.add("Friction angle of the line.", "φ′", best.friction_angle, "deg", equation)
        if self.carried:
            self.add("Cohesion of the line.", "c′", best.cohesion, self.unit, "a / cos(φ′)")

    def _with_intercept(self, line: Line) -> None:
        unit, sigma, tau = self.unit, self.sigma, self.tau
        slope, constant = float(line.slope), float(line.intercept)
        squares, mean = 1.0 / float(line.variance_factors[1]), float(line.mean_x)
        height = constant + slope * mean
        for symbol, words, value, read in (
            (sigma, self.x_words, mean, self.x),
            (tau, self.y_words, height, self.y),
        ):
            whole, equation = f"({{}}) / {digits(line.count)}", f"sum({symbol}) / n"
            self.total(
                f"Mean {words}.", f"{symbol}_m", value, unit, equation, "{}", read, whole=whole
            )
        away, up = f"({{}} - {term(mean)})", f"({{}} - {term(height)})"
        says, equation = "Sum of the squares about the mean.", f"sum(({sigma} - {sigma}_m)^2)"
        self.total(says, "S_xx", squares, f"{unit}²", equation, f"{away}^2", self.x)
        says = "Sum of the products about the means."
        equation = f"sum(({sigma} - {sigma}_m) * ({tau} - {tau}_m))"
        product = f"{away} * {up}"
        self.total(says, "S_xy", slope * squares, f"{unit}²", equation, product, self.x, self.y)
        free = "free line" if self.fit.through_origin else "line"
        below = ": below zero, so a line through the origin follows" if constant < 0.0 else ""
        if self.fit.intercept == "free":
            below = ""
        self.add(f"Slope of the {free}.", self.b, slope, "", "S_xy / S_xx")
        intercept = f"{tau}_m - {self.b} * {sigma}_m"
        self.add(f"Intercept of the {free}{below}.", self.c, constant, unit, intercept)

    def _through_origin(self, line: Line) -> None:
        unit, sigma, tau = self.unit, self.sigma, self.tau
        slope, squares = float(line.slope), 1.0 / float(line.variance_factors[1])
        of_squares, of_products = ("S_xx0", "S_xy0") if self.refitted else ("S_xx", "S_xy")
        says = f"Sum of the squares of the {self.fit.plane.normal_plural}."
        self.total(says, of_squares, squares, f"{unit}²", f"sum({sigma}^2)", "{}^2", self.x)
        says = f"Sum of the products of {self.x_words} and {self.y_words}."
        value, equation = slope * squares, f"sum({sigma} * {tau})"
        self.total(says, of_products, value, f"{unit}²", equation, "{} * {}", self.x, self.y)
        where = "the line through the origin" if self.refitted else "the line"
        why = "c′ = 0 is assumed" if self.fit.cohesion_assumed else "the line starts at the origin"
        self.add(f"Slope of {where}.", "b", slope, "", f"{of_products} / {of_squares}")
        self.add(f"Intercept: {why}.", self.fit.plane.intercept_symbol, 0.0, unit)

    def errors(self) -> None:
        fit, line, unit = self.fit, self.fit.error_line, self.unit
        assert fit.residual_std is not None
        assert fit.error_std is not None
        lost = "1" if line.through_origin else "2"
        about = "the free line" if self.refitted else "the line"
        says = f"Scatter of the tests about {about}; r is the height of a test above it."
        equation = f"sqrt(sum(r^2) / (n - {lost}))"
        whole = f"sqrt(({{}}) / ({digits(line.count)} - {lost}))"
        read = line.residuals.tolist()
        self.total(says, "s", fit.residual_std, unit, equation, "{}^2", read, whole=whole)
        if fit.error_std != fit.residual_std:
            self._in_its_place(fit.error_std)
        of_intercept, of_slope, _ = (float(part) for part in line.variance_factors)
        slope_error = fit.error_std * math.sqrt(of_slope)
        self.add("Standard error of the slope.", "s_b", slope_error, "", "s / sqrt(S_xx)")
        if not line.through_origin:
            sigma, name = self.sigma, "s_a" if self.carried else "s_c"
            error, equation = (
                fit.error_std * math.sqrt(of_intercept),
                f"s * sqrt(1 / n + {sigma}_m^2 / S_xx)",
            )
            self.add("Standard error of the intercept.", name, error, unit, equation)
            mean = float(line.mean_x)
            correlation = -mean / math.hypot(mean, math.sqrt(1.0 / (of_slope * line.count)))
            says = "Correlation of intercept and slope: neither may be varied without the other."
            equation = f"-{sigma}_m / sqrt(S_xx / n + {sigma}_m^2)"
            self.add(says, "ρ_ab" if self.carried else "ρ", correlation, "", equation)
        if self.carried:
            self._carry()

    def _carry(self) -> None:
        """Errors of intercept and slope to those of c′ and tan φ′, to first order."""
        fit, line, unit = self.fit, self.fit.error_line, self.unit
        phi = "φ′"
        if self.refitted:
            free, phi = Pair.of_tangent(*fit.plane.strength(line.intercept, line.slope)), "φ_f"
            says = "Friction angle of the free line."
            self.add(says, phi, free.friction_angle, "deg", f"asin({self.b})")
            self.add("Its cohesion.", "c_f", free.cohesion, unit, f"{self.c} / cos({phi})")
        assert fit.standard_error_tan is not None
        says = "Standard error of tan φ′, to first order."
        self.add(says, "s_t", fit.standard_error_tan, "", f"s_b / cos({phi})^3")
        if fit.standard_error_cohesion is None or fit.correlation is None:
            return
        constant, slope = float(line.intercept), float(line.slope)
        change = constant * slope / math.sqrt(1.0 - slope**2) ** 3
        equation = f"{self.c} * sin({phi}) / cos({phi})^3"
        self.add("Change of c′ with the slope.", "k", change, unit, equation)
        of_a, of_b = f"s_a / cos({phi})", "k * s_b"
        says = "Standard error of c′, to first order."
        equation = f"sqrt(({of_a})^2 + 2 * ρ_ab * ({of_a}) * ({of_b}) + ({of_b})^2)"
        self.add(says, "s_c", fit.standard_error_cohesion, unit, equation)
        says = "Correlation of c′ and tan φ′: neither may be varied without the other."
        self.add(says, "ρ", fit.correlation, "", f"(ρ_ab * {of_a} + {of_b}) / s_c")

    def _in_its_place(self, error_std: float) -> None:
        """What takes the place of the scatter, which is less."""
        tests, unit = self.fit.tests, self.unit
        if error_std == tests.band_std:
            says = (
                "The reading bands are wider than that scatter: their standard deviation, "
                "half-width over √3, takes its place."
            )
            self.add(says, "s", error_std, unit)
            return
        says = (
            "Repeated readings spread more than that scatter allows: the standard deviation they "
            "give the means, pooled over the tests, takes its place."
        )
        counts = [m for m in tests.readings if m > 1]
        if tests.repeated_shear is None or tests.repeated_shear.size != sum(counts):
            self.add(says, "s", error_std, unit)
            return
        parts = np.split(tests.repeated_shear, np.cumsum(counts)[:-1])
        away = np.concatenate([part - part.mean() for part in parts])
        spare = away.size - len(counts)
        self.total(
            "Standard deviation of one reading; r is its distance from the mean of its test, m the "
            "number of readings of a test.",
            "s_r",
            math.sqrt(float(np.sum(away**2)) / spare),
            unit,
            "sqrt(sum(r^2) / sum(m - 1))",
            "{}^2",
            away.tolist(),
            whole=f"sqrt(({{}}) / {spare})",
        )
        equation, count = "s_r * sqrt(sum(1 / m) / n)", len(tests.readings)
        whole = f"{digits(self.known['s_r'])} * sqrt(({{}}) / {count})"
        self.total(says, "s", error_std, unit, equation, "1 / {}", tests.readings, whole=whole)

    def limits(self) -> None:
        fit, interval, t = self.fit, self.fit.interval, self.student
        if interval is None:
            return
        level, freedom = (1.0 + interval.confidence) / 2.0, fit.degrees_of_freedom
        says = (
            f"Student {t} at {level:.4g} for {freedom} degree{'s' if freedom > 1 else ''} of "
            f"freedom: limits with {interval.confidence:.4g} between them."
        )
        self.add(says, t, student_t(level, freedom))
        if interval.cohesion is not None:
            low, high = interval.cohesion
            middle = ("c_f" if self.refitted else "c′") if self.carried else self.c
            below, above = f"{middle} - {t} * s_c", f"{middle} + {t} * s_c"
            if fit.intercept != "free":
                below = f"max({below}, 0)"
            if self.refitted:
                above = f"max({above}, 0)"
            what = "c′" if self.carried else "the intercept"
            self.add(f"Lower limit of {what}.", "c_low", low, self.unit, below)
            self.add(f"Upper limit of {what}.", "c_high", high, self.unit, above)
        ends = (("Lower", "φ_low", "-"), ("Upper", "φ_high", "+"))
        for (word, symbol, sign), value in zip(ends, interval.friction_angle, strict=True):
            slope = f"{self.b} {sign} {t} * s_b"
            if self.carried and abs(value) > 89.99:  # there is no such sine
                slope = f"max(min({slope}, 1), -1)"
            equation = f"{fit.plane.angle_function}({slope})"
            self.add(f"{word} limit of the friction angle.", symbol, value, "deg", equation)

    def cautious(self) -> None:
        fit, line = self.fit, self.fit.error_line
        pair, error = fit.cautious, fit.error_std
        if pair is None or error is None:
            return
        sigma, tau, unit, one_sided = self.sigma, self.tau, self.unit, f"{self.student}_1"
        t = student_t(fit.confidence, fit.degrees_of_freedom)
        self.add(f"Student {self.student}, one-sided at {fit.confidence:.4g}.", one_sided, t)
        ends = [("low", "lowest", min(self.x)), ("high", "highest", max(self.x))]
        for end, word, stress in ends[1:] if line.through_origin else ends:
            at = f"{sigma}_{end}"
            self.add(f"The {word} {self.x_words} tested.", at, stress, unit)
            spread = f"s * sqrt(1 / n + ({at} - {sigma}_m)^2 / S_xx)"
            if line.through_origin:
                spread = f"s_b * {at}"
            limit = float(line.value(stress) - t * line.standard_error(stress, error**2))
            below = f"{self.c} + {self.b} * {at} - {one_sided} * {spread}"
            says = "Lower limit of the mean line there."
            if end == "high" and fit.line.value(stress) < limit:
                limit, below = float(fit.line.value(stress)), f"b * {at}"
                says = (
                    "The lower limit of the free line there is above the line used, which counts."
                )
            self.add(says, f"{tau}_{end}", limit, unit, below, source=_MEAN_LIMIT)
        constant, slope = (float(part) for part in fit.plane.line(pair))
        c_k = "a_k" if self.carried else "c_k"
        what = "Intercept of the cautious line." if self.carried else "Cautious cohesion."
        if line.through_origin or constant == 0.0:
            says = "Slope of the cautious line, from the origin to that limit."
            if not line.through_origin:
                says = (
                    "The chord between the limits meets the axis below zero: slope of the line "
                    "from the origin to the upper one instead."
                )
            self.add(says, "b_k", slope, "", f"{tau}_high / {sigma}_high")
            self.add(what, c_k, 0.0, unit)
        else:
            says = "Slope of the cautious line, the chord between these limits."
            rise = f"({tau}_high - {tau}_low) / ({sigma}_high - {sigma}_low)"
            self.add(says, "b_k", slope, "", rise)
            self.add(what, c_k, constant, unit, f"{tau}_low - b_k * {sigma}_low")
        equation = f"{fit.plane.angle_function}(b_k)"
        self.add("Cautious friction angle.", "φ_k", pair.friction_angle, "deg", equation)
        if self.carried:
            self.add("Cautious cohesion.", "c_k", pair.cohesion, unit, "a_k / cos(φ_k)")

    def curve(self) -> None:
        curve, cautious = self.fit.curve, self.fit.cautious_curve
        assert curve is not None
        self.add("Reference pressure of the power curve.", "p_a", curve.reference_pressure, "kPa")
        says = "Coefficient of the power curve τ = A p_a (σ′ / p_a)^m, by least squares."
        self.add(says, "A", curve.coefficient)
        self.add("Its exponent, found with it.", "m", curve.exponent)
        if cautious is not None:
            self.add("Coefficient of the cautious curve.", "A_k", cautious.coefficient)
            self.add("Its exponent.", "m_k", cautious.exponent)
