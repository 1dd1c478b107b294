"""A fitted line as a short table."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from slipmargin.strength.notice import Notice
from slipmargin.strength.short_table import ShortTable, shown

if TYPE_CHECKING:
    from slipmargin.strength.envelope.fit import EnvelopeFit

__all__ = ["fit_table"]


def fit_table(fit: EnvelopeFit, notices: tuple[Notice, ...]) -> ShortTable:
    """The line and its doubt, with the notices that go with it."""
    unit, best, cautious = fit.tests.unit, fit.best_fit, fit.cautious
    count = len(fit.tests.names)
    of_cohesion = of_angle = "-"
    if fit.interval is not None:
        of_angle = _limits(fit.interval.friction_angle, "deg")
        if fit.interval.cohesion is not None:
            of_cohesion = _limits(fit.interval.cohesion, unit)
    if fit.cohesion_assumed:
        of_cohesion = "assumed"
    return ShortTable(
        title=f"Strength {'curve and ' if fit.curve else ''}line from {count} "
        + f"test{'' if count == 1 else 's'}, "
        + fit.tests.state.replace("_", " ")
        + fit.origin_words,
        header=("", "best fit", "std. error", f"{fit.confidence:.0%} limits", "cautious", "unit"),
        rows=[
            *(
                (
                    one.name,
                    shown(one.best_fit),
                    shown(one.standard_error),
                    "-" if one.limits is None else _limits(one.limits, ""),
                    shown(one.cautious),
                    "",
                )
                for one in fit.curve_parameters
            ),
            (
                "cohesion c′" if unit == "kPa" else "intercept",
                shown(best.cohesion, unit),
                shown(fit.standard_error_cohesion, unit),
                of_cohesion,
                shown(None if cautious is None else cautious.cohesion, unit),
                unit,
            ),
            (
                "friction angle φ′",
                shown(best.friction_angle, "deg"),
                "-",
                of_angle,
                shown(None if cautious is None else cautious.friction_angle, "deg"),
                "deg",
            ),
            (
                "tan φ′",
                shown(math.tan(math.radians(float(best.friction_angle)))),
                shown(fit.standard_error_tan),
                "-",
                "-",
                "",
            ),
        ],
        notices=notices,
    )


def _limits(limits: tuple[float, float], unit: str) -> str:
    return f"{shown(limits[0], unit)} to {shown(limits[1], unit)}"
