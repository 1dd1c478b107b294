"""Draws the section of any check to scale, and says in one sentence what the drawing shows."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from slipmargin.stability.check import CheckResult
from slipmargin.stability.planar_wedge.check import PlanarWedge
from slipmargin.stability.registry import KINDS
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from slipmargin.stability.planar_wedge.rotation_beside import Beside

__all__ = ["plot_section", "section_words"]


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
    """What draws a check and what says so: both stand in a module named after its kind."""
    kind = next((name for name, one in KINDS.items() if one is type(check)), None)
    if kind is None:
        known = ", ".join(one.__name__ for one in KINDS.values())
        raise InputError("check", type(check).__name__, f"a drawing exists of: {known}")
    if beside is not None and not isinstance(check, PlanarWedge):
        raise InputError("beside", type(check).__name__, "allowed with a planar wedge only")
    module = import_module(f"slipmargin.stability.{kind}.plot")
    return getattr(module, f"draw_{kind}"), getattr(module, f"{kind}_words")


def _besides(beside: Beside | None) -> dict[str, Any]:
    return {} if beside is None else {"beside": beside}
