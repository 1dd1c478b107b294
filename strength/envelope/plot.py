"""Draws a failure envelope over the tests behind it.

Both axes have one scale and one grid, so the friction angle can be measured with a
protractor. Lines differ by style and points by marker, so the picture survives a photocopier.
Triaxial tests are drawn as Mohr circles. The tested range is marked along the axis; the band
is full there and pale beyond, where it is an extrapolation.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.strength.envelope.fitted import FittedEnvelope, Interpretation
from slipmargin.strength.envelope.point_names import place_names, plain
from slipmargin.strength.laboratory.record_plot import has_rise, plot_records
from slipmargin.strength.pair import Pair

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["plot_envelope", "plot_with_records"]

# colours that the colour-blind tell apart: Okabe and Ito (2008)
_POINTS, _FIT, _BAND, _CAUTIOUS, _CURVE = "#000000", "#0072B2", "#BFD9E8", "#D55E00", "#009E73"
_OTHERS = ("#CC79A7", "#806A00", "#56B4E9", "#4D4D4D", "#7A4B8C", "#8C3B00")
_OTHER_STYLES: tuple[Any, ...] = (
    ":",
    "-.",
    (0, (6, 2, 1, 2, 1, 2)),
    (0, (1, 3)),
    (0, (8, 2)),
    (0, (3, 1, 1, 1)),
)
_FEW = 2  # lines beside the fit that leave room for its angle
_PALE = "#E6F0F6"
_WIDTH = 5.8  # [in]
_SHORT = 52  # letters of a name in the key that still leave room for two columns
_FLATTEST = 0.3  # height over width, at least
_STATE_WORDS = {"peak": "at peak", "end_of_test": "at end of test", "residual": "residual"}


def plot_envelope(
    fit: FittedEnvelope,
    *,
    axes: Axes | None = None,
    interpretations: Sequence[Interpretation] = (),
) -> Figure:
    """Draw tests, fitted line with its confidence band, cautious line, and others.

    Repeated readings are drawn beside their mean, a power curve beside its line. Where a free
    intercept below zero was put to zero, the free line is drawn too: the band is its own. Without
    ``axes`` a new figure is made.
    """
    right = _reach(fit)
    top = _top(fit, interpretations, right)
    if axes is None:
        from slipmargin.strength.drawn import DrawnFigure

        single = any(_letters(_named(one, fit)) > _SHORT for one in interpretations)
        rows = 10 + len(interpretations) if single else 5 + len(interpretations) // 2  # of the key
        left, below, above = 0.62, 0.75 + 0.17 * rows, 0.12  # [in]
        width = _WIDTH - left - 0.2
        height = min(width * top / right, 10.5 - below - above)
        total = height + below + above
        place = (left / _WIDTH, below / total, width / _WIDTH, height / total)
        axes = DrawnFigure(figsize=(_WIDTH, total)).add_axes(place)
    reach = np.linspace(0.0, right, 201)
    _frame(axes, fit, right, top)
    _band(axes, fit, right)
    if fit.plane.has_circles:
        _circles(axes, fit)
    _line(axes, fit, reach)
    if fit.curve is not None:
        _curve(axes, fit, reach)
    _cautious(axes, fit, reach)
    for number, other in enumerate(interpretations):
        axes.plot(
            reach,
            Pair(other.cohesion, other.friction_angle).shear_strength(reach),
            color=_OTHERS[number % len(_OTHERS)],
            linestyle=_OTHER_STYLES[number % len(_OTHER_STYLES)],
            linewidth=1.4,
            zorder=3,
            label=_named(other, fit),
        )
    taken = []
    if fit.curve is None and len(interpretations) <= _FEW:
        taken = [_angle(axes, fit, right)]
    _points(axes, fit)
    place_names(axes, fit, taken)
    _tested(axes, fit)
    _, names = axes.get_legend_handles_labels()
    axes.legend(
        loc="upper center",
        bbox_to_anchor=(0.5, 0.0),
        borderaxespad=5.0,  # below the axis and its name, whatever the height
        ncols=2 if max(map(_letters, names)) <= _SHORT else 1,
        fontsize=7.5,
        frameon=False,
        handlelength=2.6,
        columnspacing=1.2,
    )
    figure: Any = axes.figure
    return figure  # type: ignore[no-any-return]


def _named(one: Interpretation, fit: FittedEnvelope) -> str:
    return f"{plain(one.name)}: {_words(one, fit)}"


def _letters(name: str) -> int:
    """How many letters a name has when it is set."""
    return len(re.sub(r"\$[^$]*\$", "xx", name))


def plot_with_records(
    fit: FittedEnvelope, interpretations: Sequence[Interpretation] = ()
) -> Figure:
    """As ``plot_envelope``; stress-displacement records get their curves above it."""
    details = fit.tests.details
    if not details:
        return plot_envelope(fit, interpretations=interpretations)
    from slipmargin.strength.drawn import DrawnFigure

    rises = has_rise(details)
    figure = DrawnFigure(figsize=(8.0, 12.6 if rises else 11.0), layout="constrained")
    heights = (1.0, 0.4, 1.3) if rises else (1.0, 1.3)
    above, *rise, below = figure.subplots(len(heights), 1, height_ratios=heights)
    plot_records(details, axes=above, below=rise[0] if rise else None)
    plot_envelope(fit, axes=below, interpretations=interpretations)
    return figure


def _reach(fit: FittedEnvelope) -> float:
    """Right edge of the picture: beyond the last point, or the last circle."""
    tests = fit.tests
    last = tests.normal + tests.shear if fit.plane.has_circles else tests.normal
    return (1.03 if fit.plane.has_circles else 1.08) * float(last.max())


def _top(fit: FittedEnvelope, interpretations: Sequence[Interpretation], right: float) -> float:
    """Top of the picture: the highest of points and lines."""
    tests = fit.tests
    heights: list[float] = [*tests.shear.tolist(), *np.nan_to_num(tests.high).tolist()]
    if tests.repeated_shear is not None:
        heights += tests.repeated_shear.tolist()
    pairs = [fit.best_fit, *(Pair(one.cohesion, one.friction_angle) for one in interpretations)]
    heights += [float(pair.shear_strength(right)) for pair in pairs]
    return max(1.06 * max(heights), _FLATTEST * right)


def _band(axes: Axes, fit: FittedEnvelope, right: float) -> None:
    """Limits of the mean line, full where it was tested and pale beyond."""
    tests, plane = fit.tests, fit.plane
    low, high = float(tests.normal.min()), float(tests.normal.max())
    # as far on the plane of the points as the picture reaches on that of sliding
    rise = float(fit.best_fit.tan_friction_angle)
    beyond = 2.0 * rise * float(fit.best_fit.shear_strength(right)) if plane.has_circles else 0.0
    far = right + beyond
    name = "mean" if fit.error_line is fit.line else "free"
    named = f"{name} line, {fit.confidence:.0%} confidence"
    for ends, colour, label in (
        ((low, high), _BAND, named),
        ((high, far), _PALE, "the same, beyond the tested range"),
        ((0.0, low), _PALE, None),
    ):
        at = np.linspace(*ends, 101)
        limits = fit.mean_limits(at)
        if limits is None or ends[0] >= ends[1]:
            continue
        sides = [plane.envelope(at, np.asarray(limit)) for limit in limits]
        axes.fill(
            np.concatenate([sides[0][0], sides[1][0][::-1]]),
            np.maximum(np.concatenate([sides[0][1], sides[1][1][::-1]]), 0.0),
            color=colour,
            linewidth=0.0,
            zorder=1.0 if colour == _BAND else 0.9,
            label=label,
        )
        if colour == _BAND:
            for x, y in sides:
                axes.plot(x, np.maximum(y, 0.0), color=_FIT, linewidth=0.6, zorder=2)
    if fit.error_line is not fit.line and fit.error_std is not None:
        error = fit.error_line
        free = Pair.of_tangent(*plane.strength(error.intercept, error.slope))
        tested = np.array(fit.normal_range)
        axes.plot(
            tested,
            np.maximum(free.shear_strength(tested), 0.0),
            color=_FIT,
            linewidth=1.0,
            linestyle=(0, (2, 2)),
            zorder=3,
            label=f"free line, meets the axis at {float(free.cohesion):.1f} {tests.unit}",
        )


def _circles(axes: Axes, fit: FittedEnvelope) -> None:
    """The upper halves of the Mohr circles, and their centres."""
    turn = np.linspace(0.0, np.pi, 121)
    for number, (centre, radius) in enumerate(zip(fit.tests.normal, fit.tests.shear, strict=True)):
        axes.plot(
            centre + radius * np.cos(turn),
            radius * np.sin(turn),
            color=_POINTS,
            linewidth=0.9,
            zorder=3,
            label=None if number else "Mohr circles of effective stress",
        )
    axes.plot(
        fit.tests.normal,
        np.zeros(len(fit.tests.names)),
        "+",
        markersize=5.0,
        markeredgecolor=_POINTS,
        clip_on=False,
        zorder=3,
    )


def _line(axes: Axes, fit: FittedEnvelope, reach: Any) -> None:
    low, high = fit.normal_range
    tested, height = np.array([low, high]), fit.best_fit.shear_strength
    name = f"best fit: {'c′ = 0 assumed, ' if fit.cohesion_assumed else ''}"
    name += _words(fit.best_fit, fit)
    axes.plot(tested, height(tested), color=_FIT, linewidth=2.2, zorder=4, label=name)
    for beyond, also in (([0.0, low], "beyond the tested range"), ([high, reach[-1]], None)):
        axes.plot(beyond, height(np.array(beyond)), color=_FIT, linewidth=0.9, zorder=3, label=also)


def _angle(axes: Axes, fit: FittedEnvelope, right: float) -> tuple[float, float, float, float]:
    """The friction angle where it can be measured with a protractor, and the box it takes."""
    from matplotlib.patches import Arc

    angle = float(fit.best_fit.friction_angle)
    start = 0.52 * right
    height, size = float(fit.best_fit.shear_strength(start)), 0.20 * right
    axes.plot([start, start + 1.25 * size], [height, height], color="#4D4D4D", linewidth=0.8)
    axes.add_patch(
        Arc((start, height), 2.0 * size, 2.0 * size, theta1=0.0, theta2=angle, color="#4D4D4D")
    )
    third = np.radians(angle / 3.0)
    axes.annotate(
        f"φ′ = {angle:.1f}°",
        (start + size * np.cos(third), height + size * np.sin(third)),
        xytext=(5, -3),
        textcoords="offset points",
        fontsize=9,
        bbox={"facecolor": "white", "alpha": 0.75, "linewidth": 0.0, "pad": 1.0},
        zorder=7,
    )
    above = height + size * float(np.sin(np.radians(angle)))
    return start + 0.8 * size, height, start + 1.7 * size, above


def _curve(axes: Axes, fit: FittedEnvelope, reach: Any) -> None:
    curve = fit.curve
    assert curve is not None
    axes.plot(
        reach,
        curve.shear_strength(reach),
        color=_CURVE,
        linewidth=1.8,
        linestyle=(0, (7, 2, 2, 2)),
        zorder=4,
        label=rf"power curve: $\tau = {curve.coefficient:.3f}\,p_a\,(\sigma'/p_a)"
        rf"^{{{curve.exponent:.3f}}}$",
    )


def _cautious(axes: Axes, fit: FittedEnvelope, reach: Any) -> None:
    name = f"cautious, {fit.confidence:.0%} one-sided"
    if fit.curve is not None and fit.cautious_curve is not None:
        heights = fit.cautious_curve.shear_strength(reach)
    elif fit.curve is None and fit.cautious is not None:
        heights = fit.cautious.shear_strength(reach)
        name += f": {_words(fit.cautious, fit)}"
    else:
        return
    axes.plot(
        reach, heights, color=_CAUTIOUS, linewidth=1.8, linestyle=(0, (5, 3)), zorder=4, label=name
    )


def _points(axes: Axes, fit: FittedEnvelope) -> None:
    tests = fit.tests
    banded = np.isfinite(tests.low)
    if np.any(banded):
        axes.errorbar(
            tests.normal[banded],
            tests.shear[banded],
            yerr=np.abs(np.stack([tests.shear - tests.low, tests.high - tests.shear])[:, banded]),
            fmt="none",
            ecolor=_POINTS,
            elinewidth=1.2,
            capsize=4.0,
            zorder=5,
            label="reading band",
        )
    if tests.repeated_normal is not None and tests.repeated_shear is not None:
        axes.plot(
            *fit.plane.on_sliding_plane(tests.repeated_normal, tests.repeated_shear, fit.best_fit),
            "x",
            markersize=5.0,
            markeredgecolor=_POINTS,
            zorder=7,
            label="repeated readings",
        )
    axes.plot(
        *fit.on_sliding_plane,
        "o",
        markersize=7.0,
        markerfacecolor="white",
        markeredgecolor=_POINTS,
        markeredgewidth=1.6,
        zorder=6,
        label=f"{fit.plane.of_tests}tests, {_STATE_WORDS[tests.state]}",
    )


def _tested(axes: Axes, fit: FittedEnvelope) -> None:
    """The tested range along the axis."""
    low, high = fit.normal_range
    axes.plot(
        [low, high],
        [0.0, 0.0],
        color=_POINTS,
        linewidth=4.0,
        solid_capstyle="butt",
        clip_on=False,
        zorder=5,
        label=f"tested range, {low:.4g} to {high:.4g} {fit.tests.unit}",
    )


def _frame(axes: Axes, fit: FittedEnvelope, right: float, top: float) -> None:
    from matplotlib.ticker import MultipleLocator

    force = fit.tests.unit == "N"
    quantity = "force [N]" if force else "stress [kPa]"
    axes.set_xlabel(f"normal {quantity}" if force else f"effective normal {quantity}")
    axes.set_ylabel(f"shear {quantity}")
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    axes.set_aspect("equal", adjustable="box")
    axes.set_anchor("N")  # what room is left is for the key
    # one grid of squares
    step = float(np.diff(axes.get_xticks())[0])
    for one in (axes.xaxis, axes.yaxis):
        one.set_major_locator(MultipleLocator(step))
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(True, color="#E4E4E4", linewidth=0.6)
    axes.set_axisbelow(True)


def _words(pair: Pair | Interpretation, fit: FittedEnvelope) -> str:
    angle = f"φ′ = {float(pair.friction_angle):.1f}°"
    if pair.cohesion == 0.0:
        return angle
    name = "c′" if fit.tests.unit == "kPa" else "intercept"
    return f"{name} = {float(pair.cohesion):.1f} {fit.tests.unit}, {angle}"
