"""Draws a failure envelope over the tests behind it.

Both axes have one scale and one grid, so the friction angle can be measured with a
protractor. Lines differ by style and points by marker, so the picture survives a photocopier.
Triaxial tests are drawn as Mohr circles. The tested range is marked along the axis; the band
is full there and pale beyond, where it is an extrapolation.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.strength.drawing.frame import Box, cut_below, framed, key, line, scales
from slipmargin.strength.drawing.labels import Label, Stroke, place_labels, written
from slipmargin.strength.envelope.fitted import FittedEnvelope, Interpretation
from slipmargin.strength.laboratory.record_plot import plot_records, record_panels
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
_WIDTH, _LEFT, _RIGHT, _ABOVE = 5.8, 0.62, 0.2, 0.12  # of the paper [in]
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
    if axes is not None:
        _draw(axes, fit, interpretations)
        return axes.figure  # type: ignore[return-value]
    height = _height(fit, interpretations, _WIDTH)
    (axes,) = framed(_WIDTH, [height], left=_LEFT, right=_RIGHT, above=_ABOVE)
    return cut_below(_draw(axes, fit, interpretations), axes.figure)


def _draw(axes: Axes, fit: FittedEnvelope, interpretations: Sequence[Interpretation]) -> list[Box]:
    """Draw all of it, and give the boxes of the key below it."""
    right = _reach(fit)
    top = _top(fit, interpretations, right)
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    axes.set_aspect("equal", adjustable="box", anchor="N")  # what room is left is for the key
    axes.apply_aspect()
    reach = np.linspace(0.0, right, 201)
    _band(axes, fit, right)
    if fit.plane.has_circles:
        _circles(axes, fit)
    _line(axes, fit, reach)
    if fit.curve is not None:
        _curve(axes, fit, reach)
    _cautious(axes, fit, reach)
    for number, other in enumerate(interpretations):
        line(
            axes,
            reach,
            Pair(other.cohesion, other.friction_angle).shear_strength(reach),
            color=_OTHERS[number % len(_OTHERS)],
            linestyle=_OTHER_STYLES[number % len(_OTHER_STYLES)],
            linewidth=1.4,
            zorder=3,
            label=_named(other, fit),
        )
    labels = _names(fit)
    if fit.curve is None and len(interpretations) <= _FEW:
        labels.append(_angle(axes, fit, right))
    _points(axes, fit)
    low, high = fit.normal_range
    said = f"tested range, {low:.4g} to {high:.4g} {fit.tests.unit}"
    line(axes, [low, high], [0.0, 0.0], color=_POINTS, linewidth=4.0, solid_capstyle="butt",
         clip_on=False, zorder=5, label=said)  # fmt: skip
    force = fit.tests.unit == "N"
    normal, shear = ("normal force [N]", "shear force [N]") if force else (
        "effective normal stress [kPa]", "shear stress [kPa]")  # fmt: skip
    scales(axes, normal, shear, grid="#E4E4E4")
    strokes = [Stroke(one.get_xydata(), 0.3) for one in axes.lines if one.get_zorder() == 4]
    bands = zip(fit.tests.normal, fit.tests.low, fit.tests.high, strict=True)
    strokes += [Stroke([(x, low), (x, high)], 1.0) for x, low, high in bands]
    strokes += [Stroke([at, at], 30.0) for at in np.column_stack(fit.on_sliding_plane)]
    place_labels(axes, labels, strokes)
    entries = list(zip(*axes.get_legend_handles_labels(), strict=True))
    return key(axes, entries, left=-36.0, top=-36.0, size=7.0, most=2)


def plot_with_records(
    fit: FittedEnvelope, interpretations: Sequence[Interpretation] = ()
) -> Figure:
    """As ``plot_envelope``; stress-displacement records get their curves above it."""
    if not (details := fit.tests.details):
        return plot_envelope(fit, interpretations=interpretations)
    width = 7.2
    height = _height(fit, interpretations, width)
    records, margins = record_panels(details)
    *above, last = framed(
        width, [*records, height], left=_LEFT, right=_RIGHT, below=[*margins, 0.5], above=_ABOVE
    )
    plot_records(details, axes=above[0], below=above[1] if len(above) > 1 else None)
    return cut_below(_draw(last, fit, interpretations), last.figure)


def _height(fit: FittedEnvelope, others: Sequence[Interpretation], width: float) -> float:
    """Of the axes on paper of a width [in]."""
    right = _reach(fit)
    return min((width - _LEFT - _RIGHT) * _top(fit, others, right) / right, 8.0)


def _named(one: Interpretation, fit: FittedEnvelope) -> str:
    return f"{written(one.name)}: {_words(one, fit)}"


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
    from matplotlib.patches import Polygon

    tests, plane = fit.tests, fit.plane
    low, high = float(tests.normal.min()), float(tests.normal.max())
    # as far on the plane of the points as the picture reaches on that of sliding
    rise = float(fit.best_fit.tan_friction_angle)
    beyond = 2.0 * rise * float(fit.best_fit.shear_strength(right)) if plane.has_circles else 0.0
    name = "mean" if fit.error_line is fit.line else "free"
    for ends, colour, label in (
        ((low, high), _BAND, f"{name} line, {fit.confidence:.0%} confidence"),
        ((high, right + beyond), _PALE, "the same, beyond the tested range"),
        ((0.0, low), _PALE, "_"),
    ):
        at = np.linspace(*ends, 101)
        limits = fit.mean_limits(at)
        if limits is None or ends[0] >= ends[1]:
            continue
        sides = [np.column_stack(plane.envelope(at, np.asarray(limit))) for limit in limits]
        sides = [np.maximum(side, [-np.inf, 0.0]) for side in sides]
        tested = colour == _BAND
        area = Polygon(np.concatenate((sides[0], sides[1][::-1])), facecolor=colour, linewidth=0.0)
        area.set(zorder=1.0 if tested else 0.9, label=label)
        axes.add_artist(area)
        for side in sides if tested else []:
            line(axes, *side.T, color=_FIT, linewidth=0.6, zorder=2, label="_")
    if fit.error_line is not fit.line and fit.error_std is not None:
        free = Pair.of_tangent(*plane.strength(fit.error_line.intercept, fit.error_line.slope))
        reach = np.array(fit.normal_range)
        line(
            axes,
            reach,
            np.maximum(free.shear_strength(reach), 0.0),
            color=_FIT,
            linewidth=1.0,
            linestyle=(0, (2, 2)),
            zorder=3,
            label=f"free line, meets the axis at {float(free.cohesion):.1f} {tests.unit}",
        )


def _circles(axes: Axes, fit: FittedEnvelope) -> None:
    """The upper halves of the Mohr circles, and their centres."""
    turn = np.linspace(0.0, np.pi, 121)
    centres, radii = fit.tests.normal, fit.tests.shear
    for number, (centre, radius) in enumerate(zip(centres, radii, strict=True)):
        name = "_" if number else "Mohr circles of effective stress"
        x, y = centre + radius * np.cos(turn), radius * np.sin(turn)
        line(axes, x, y, color=_POINTS, linewidth=0.9, zorder=3, label=name)
    line(axes, centres, 0.0 * centres, marker="+", markersize=5.0, color=_POINTS, linestyle="None",
         clip_on=False, zorder=3, label="_")  # fmt: skip


def _line(axes: Axes, fit: FittedEnvelope, reach: Any) -> None:
    low, high = fit.normal_range
    height = fit.best_fit.shear_strength
    name = f"best fit: {'c′ = 0 assumed, ' if fit.cohesion_assumed else ''}"
    name += _words(fit.best_fit, fit)
    for ends, width, label in (
        ([low, high], 2.2, name),
        ([0.0, low], 0.9, "beyond the tested range"),
        ([high, reach[-1]], 0.9, "_"),
    ):
        look = {"linewidth": width, "zorder": 4 if label == name else 3, "label": label}
        line(axes, ends, height(np.array(ends)), color=_FIT, **look)


def _angle(axes: Axes, fit: FittedEnvelope, right: float) -> Label:
    """The friction angle where it can be measured with a protractor; gives its label."""
    angle = float(fit.best_fit.friction_angle)
    start, size = 0.52 * right, 0.20 * right
    height = float(fit.best_fit.shear_strength(start))
    turn = np.radians(np.linspace(0.0, angle, 25))
    x, y = start + size * np.cos(turn), height + size * np.sin(turn)
    line(axes, [start, start + 1.25 * size], [height, height], color="#4D4D4D", linewidth=0.8,
         label="_")  # fmt: skip
    line(axes, x, y, color="#4D4D4D", linewidth=1.0, zorder=1.5, label="_")
    at = float(x[8]), float(y[8])
    return Label(f"φ′ = {angle:.1f}°", at, towards=0.0, size=9.0, leader=False)


def _curve(axes: Axes, fit: FittedEnvelope, reach: Any) -> None:
    curve = fit.curve
    assert curve is not None
    line(
        axes,
        reach,
        curve.shear_strength(reach),
        color=_CURVE,
        linewidth=1.8,
        linestyle=(0, (7, 2, 2, 2)),
        zorder=4,
        label=rf"power curve: $\tau$ = {curve.coefficient:.3f} $p_a$ ($\sigma'$/$p_a$)"
        rf"$^{{{curve.exponent:.3f}}}$",
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
    style = (0, (5, 3))
    line(
        axes, reach, heights, color=_CAUTIOUS, linewidth=1.8, linestyle=style, zorder=4, label=name
    )


def _points(axes: Axes, fit: FittedEnvelope) -> None:
    tests = fit.tests
    if np.any(banded := np.isfinite(tests.low)):
        gap = np.full(int(banded.sum()), np.nan)
        x = np.stack([tests.normal[banded], tests.normal[banded], gap], axis=1).ravel()
        y = np.stack([tests.low[banded], tests.high[banded], gap], axis=1).ravel()
        line(axes, x, y, color=_POINTS, linewidth=1.2, marker="_", markersize=8.0, zorder=5,
             label="reading band")  # fmt: skip
    if tests.repeated_normal is not None and tests.repeated_shear is not None:
        repeated = tests.repeated_normal, tests.repeated_shear
        x, y = fit.plane.on_sliding_plane(*repeated, fit.best_fit)
        line(axes, x, y, color=_POINTS, linestyle="None", marker="x", markersize=5.0, zorder=7,
             label="repeated readings")  # fmt: skip
    line(
        axes,
        *fit.on_sliding_plane,
        color=_POINTS,
        linestyle="None",
        marker="o",
        markersize=7.0,
        markerfacecolor="white",
        markeredgewidth=1.6,
        zorder=6,
        label=f"{fit.plane.of_tests}tests, {_STATE_WORDS[tests.state]}",
    )


def _names(fit: FittedEnvelope) -> list[Label]:
    """The names of the tests beside their points; of a circle above its centre."""
    tests, circles = fit.tests, fit.plane.has_circles
    points = (tests.normal, 0.0 * tests.shear) if circles else fit.on_sliding_plane
    return [
        Label(written(name), (float(x), float(y)), towards=90.0 if circles else 135.0, clear=4.0)
        for x, y, name in zip(*points, tests.names, strict=True)
    ]


def _words(pair: Pair | Interpretation, fit: FittedEnvelope) -> str:
    angle = f"φ′ = {float(pair.friction_angle):.1f}°"
    if pair.cohesion == 0.0:
        return angle
    name = "c′" if fit.tests.unit == "kPa" else "intercept"
    return f"{name} = {float(pair.cohesion):.1f} {fit.tests.unit}, {angle}"
