"""Draws the section of any check to scale, and says in one sentence what the drawing shows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from stability.earth_pressure import EarthPressure
from stability.earth_pressure_plot import draw_earth_pressure, earth_pressure_words
from stability.infinite_slope import InfiniteSlope
from stability.infinite_slope_plot import draw_infinite_slope, infinite_slope_words
from stability.planar_wedge import PlanarWedge
from stability.planar_wedge_plot import draw_planar_wedge, planar_wedge_words
from stability.result import CheckResult
from stability.retaining_wall import RetainingWall
from stability.retaining_wall_plot import draw_retaining_wall, retaining_wall_words
from stability.rotational import Rotational
from stability.rotational_plot import draw_rotational, rotational_words
from strength import InputError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from stability.governing import Beside

__all__ = ["plot_section", "section_words"]

_DRAWINGS: Mapping[type, tuple[Any, Any]] = {
    InfiniteSlope: (draw_infinite_slope, infinite_slope_words),
    PlanarWedge: (draw_planar_wedge, planar_wedge_words),
    Rotational: (draw_rotational, rotational_words),
    EarthPressure: (draw_earth_pressure, earth_pressure_words),
    RetainingWall: (draw_retaining_wall, retaining_wall_words),
}


def plot_section(
    check: Any, result: CheckResult, *, beside: Beside | None = None, axes: Axes | None = None
) -> Figure:
    """Draw the section of a check to scale.

    Parameters
    ----------
    check
        A check whose fields are scalars.
    result
        What it gave.
    beside
        The rotation of the same slope, whose slip surface is drawn dashed beside a plane.
    axes
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.figure.Figure
        The one drawn on. A title goes on its first axes.

    Raises
    ------
    InputError
        No drawing of this kind of check, several cases at once, or a rotation beside
        something that is not a planar wedge.
    """
    draw, _ = _drawing(check, beside)
    drawn: Figure = draw(check, result, axes, **_besides(beside))
    return drawn


def section_words(check: Any, result: CheckResult, *, beside: Beside | None = None) -> str:
    """One sentence that says what ``plot_section`` draws, for those who do not see it.

    Raises
    ------
    InputError
        As ``plot_section``.
    """
    _, words = _drawing(check, beside)
    said: str = words(check, result, **_besides(beside))
    return said


def _drawing(check: Any, beside: Beside | None) -> tuple[Any, Any]:
    found = _DRAWINGS.get(type(check))
    if found is None:
        known = ", ".join(kind.__name__ for kind in _DRAWINGS)
        raise InputError("check", type(check).__name__, f"a drawing exists of: {known}")
    if beside is not None and not isinstance(check, PlanarWedge):
        raise InputError("beside", type(check).__name__, "allowed with a planar wedge only")
    return found


def _besides(beside: Beside | None) -> dict[str, Any]:
    return {} if beside is None else {"beside": beside}
