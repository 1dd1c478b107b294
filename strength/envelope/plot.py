"""Draws a failure envelope over the tests behind it.

Both axes have one scale, so the friction angle is seen at its true inclination. Lines
differ by style and points by marker, so the picture survives a photocopier.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.strength.envelope.fitted import EnvelopeFit
from slipmargin.strength.envelope.interpretation import Interpretation
from slipmargin.strength.pair import Pair

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["plot_envelope"]

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
_FLATTEST, _STEEPEST = 0.55, 0.8  # height over width: least for the key, most to hold it on top
_STATE_WORDS = {"peak": "at peak", "end_of_test": "at end of test", "residual": "residual"}


def plot_envelope(
    fit: EnvelopeFit,
    *,
    axes: Axes | None = None,
    interpretations: Sequence[Interpretation] = (),
) -> Figure:
    """Draw tests, fitted line with its confidence band, cautious line, and others.

    Repeated readings are drawn beside their mean. Where a free intercept below zero was put to
    zero, the free line is drawn too: the band is its own.

    Parameters
    ----------
    fit
        What is drawn. A power curve is drawn beside its line.
    axes
        Where to draw; a new figure without it.
    interpretations
        Further pairs, each drawn as a line of its own.

    Returns
    -------
    matplotlib.figure.Figure
    """
    top = _heights(fit, interpretations)
    right = 1.08 * float(fit.tests.normal.max())
    if axes is None:
        from matplotlib.figure import Figure

        width = 8.0
        height = min(max(width * 0.86 * top / right + 1.0, 4.2), 9.0)
        axes = Figure(figsize=(width, height), layout="constrained").add_subplot()
    reach = np.linspace(0.0, right, 201)
    _band(axes, fit)
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
            label=f"{_plain(other.name)}: {_words(other.cohesion, other.friction_angle, fit)}",
        )
    if fit.curve is None and len(interpretations) <= _FEW:
        _angle(axes, fit, right)
    _points(axes, fit)
    _frame(axes, fit, right, top)
    figure: Any = axes.figure
    return figure  # type: ignore[no-any-return]


def _heights(fit: EnvelopeFit, interpretations: Sequence[Interpretation]) -> float:
    """Top of the picture: the highest of points and lines, and room for the key."""
    right = 1.08 * float(fit.tests.normal.max())
    heights = [float(fit.tests.shear.max()), float(fit.line.value(right))]
    if fit.tests.repeated_shear is not None:
        heights.append(float(fit.tests.repeated_shear.max()))
    heights += [
        float(Pair(other.cohesion, other.friction_angle).shear_strength(right))
        for other in interpretations
    ]
    return max(1.12 * max(heights), _FLATTEST * right)


def _band(axes: Axes, fit: EnvelopeFit) -> None:
    low, high = fit.normal_range
    tested = np.linspace(0.0 if fit.error_line.through_origin else low, high, 101)
    limits = fit.mean_limits(tested)
    if limits is None:
        return
    axes.fill_between(
        tested,
        np.maximum(limits[0], 0.0),
        limits[1],
        color=_BAND,
        linewidth=0.0,
        zorder=1,
        label=f"{'mean' if fit.error_line is fit.line else 'free'} line, {fit.confidence:.0%} "
        "confidence",
    )
    for limit in limits:
        axes.plot(tested, np.maximum(limit, 0.0), color=_FIT, linewidth=0.6, zorder=2)
    if fit.error_line is not fit.line:
        axes.plot(
            tested,
            np.maximum(fit.error_line.value(tested), 0.0),
            color=_FIT,
            linewidth=1.0,
            linestyle=(0, (2, 2)),
            zorder=3,
            label=f"free line, meets the axis at {float(fit.error_line.intercept):.1f} "
            f"{fit.tests.unit}",
        )


def _line(axes: Axes, fit: EnvelopeFit, reach: Any) -> None:
    low, high = fit.normal_range
    tested = np.array([low, high])
    pair = fit.best_fit
    assumed = "$c'$ = 0 assumed, " if fit.cohesion_assumed else ""
    axes.plot(
        tested,
        fit.line.value(tested),
        color=_FIT,
        linewidth=2.2,
        zorder=4,
        label=f"best fit: {assumed}{_words(pair.cohesion, pair.friction_angle, fit)}",
    )
    for beyond, name in (([0.0, low], "beyond the tested range"), ([high, reach[-1]], None)):
        axes.plot(beyond, fit.line.value(beyond), color=_FIT, linewidth=0.9, zorder=3, label=name)


def _angle(axes: Axes, fit: EnvelopeFit, right: float) -> None:
    """The friction angle where it can be measured with a protractor."""
    from matplotlib.patches import Arc

    angle = float(fit.best_fit.friction_angle)
    start = 0.52 * right
    height, size = float(fit.line.value(start)), 0.20 * right
    axes.plot([start, start + 1.25 * size], [height, height], color="#4D4D4D", linewidth=0.8)
    axes.add_patch(
        Arc((start, height), 2.0 * size, 2.0 * size, theta1=0.0, theta2=angle, color="#4D4D4D")
    )
    axes.annotate(
        f"$\\varphi'$ = {angle:.1f}°",
        (
            start + size * np.cos(np.radians(angle / 3.0)),
            height + size * np.sin(np.radians(angle / 3.0)),
        ),
        xytext=(5, -3),
        textcoords="offset points",
        fontsize=9,
    )


def _curve(axes: Axes, fit: EnvelopeFit, reach: Any) -> None:
    curve = fit.curve
    if curve is None:
        return
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


def _cautious(axes: Axes, fit: EnvelopeFit, reach: Any) -> None:
    name = f"cautious, {fit.confidence:.0%} one-sided"
    if fit.curve is not None and fit.cautious_curve is not None:
        heights = fit.cautious_curve.shear_strength(reach)
    elif fit.curve is None and fit.cautious is not None:
        pair = fit.cautious
        heights = pair.shear_strength(reach)
        name += f": {_words(pair.cohesion, pair.friction_angle, fit)}"
    else:
        return
    axes.plot(
        reach, heights, color=_CAUTIOUS, linewidth=1.8, linestyle=(0, (5, 3)), zorder=4, label=name
    )


def _points(axes: Axes, fit: EnvelopeFit) -> None:
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
            tests.repeated_normal,
            tests.repeated_shear,
            linestyle="none",
            marker="x",
            markersize=5.0,
            markeredgecolor=_POINTS,
            zorder=5,
            label="repeated readings",
        )
    axes.plot(
        tests.normal,
        tests.shear,
        linestyle="none",
        marker="o",
        markersize=7.0,
        markerfacecolor="white",
        markeredgecolor=_POINTS,
        markeredgewidth=1.6,
        zorder=6,
        label=f"tests, {_STATE_WORDS[tests.state]}",
    )
    for name, normal, shear in zip(tests.names, tests.normal, tests.shear, strict=True):
        axes.annotate(
            _plain(name),
            (normal, shear),
            xytext=(-6, 7),
            textcoords="offset points",
            ha="right",
            fontsize=8,
            zorder=7,
        )


def _frame(axes: Axes, fit: EnvelopeFit, right: float, top: float) -> None:
    force = fit.tests.unit == "N"
    quantity = "force [N]" if force else "stress [kPa]"
    axes.set_xlabel(f"normal {quantity}" if force else f"effective normal {quantity}")
    axes.set_ylabel(f"shear {quantity}")
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    axes.set_aspect("equal", adjustable="box")
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(True, color="#E4E4E4", linewidth=0.6)
    axes.set_axisbelow(True)
    where: Any = "upper left" if top < _STEEPEST * right else "lower right"
    axes.legend(loc=where, fontsize=8, frameon=False, handlelength=3.6)


def _words(cohesion: Any, friction_angle: Any, fit: EnvelopeFit) -> str:
    angle = f"$\\varphi'$ = {float(friction_angle):.1f}°"
    if cohesion == 0.0:
        return angle
    name = "$c'$" if fit.tests.unit == "kPa" else "intercept"
    return f"{name} = {float(cohesion):.1f} {fit.tests.unit}, {angle}"


def _plain(text: str) -> str:
    return text[:40].replace("$", r"\$")
