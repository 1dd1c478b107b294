"""Draws the section of any check to scale, and says in one sentence what the drawing shows."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from slipmargin.stability.check import CheckResult
from slipmargin.stability.registry import KINDS, kind_of
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["plot_section", "section_words"]


def plot_section(check: Any, result: CheckResult, *, axes: Axes | None = None) -> Figure:
    """Draw the section of a check to scale.

    Parameters
    ----------
    check
        A check whose fields are scalars.
    result
        What it gave; the slip surface of a rotation beside a plane is drawn dashed.
    axes
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.figure.Figure
        The one drawn on. A title goes on its first axes.

    Raises
    ------
    InputError
        No drawing of this kind of check, or several cases at once.
    """
    draw, _ = _drawing(check)
    drawn: Figure = draw(check, result, axes)
    return drawn


def section_words(check: Any, result: CheckResult) -> str:
    """One sentence that says what ``plot_section`` draws, for those who do not see it.

    Raises
    ------
    InputError
        As ``plot_section``.
    """
    _, words = _drawing(check)
    said: str = words(check, result)
    return said


def _drawing(check: Any) -> tuple[Any, Any]:
    """What draws a check and what says so: both stand in a module named after its kind."""
    kind = kind_of(check)
    if kind is None:
        known = ", ".join(one.__name__ for one in KINDS.values())
        raise InputError("check", type(check).__name__, f"a drawing exists of: {known}")
    module = import_module(f"slipmargin.stability.{kind}.plot")
    return getattr(module, f"draw_{kind}"), getattr(module, f"{kind}_words")
