"""Saves figures: whole files, the same bytes for the same input."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from cli.files import write_whole
from strength import InputError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cli.sweep import SweepOutcome
    from strength.laboratory import LaboratoryStrength

__all__ = ["plot_laboratory", "plot_sweeps", "refuse_format", "save"]

_METADATA: dict[str, dict[str, str | None]] = {
    ".png": {"Software": None},
    ".svg": {"Date": None, "Creator": None},
    ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}


def refuse_format(path: Path) -> None:
    """Refuse a picture format that is not written.

    Raises
    ------
    InputError
        With the formats that are.
    """
    if path.suffix.lower() not in _METADATA:
        raise InputError("--plot", path.name, "allowed: a name ending in .png, .svg or .pdf")


def save(figure: Figure, path: Path, *, force: bool) -> None:
    """Write a figure in the format its name asks for."""
    import matplotlib as mpl

    suffix = path.suffix.lower()
    stream = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "slipmargin", "svg.fonttype": "path"}):
        figure.savefig(stream, format=suffix[1:], dpi=150, metadata=_METADATA[suffix])
    write_whole(path, stream.getvalue(), force=force)


def plot_laboratory(laboratory: LaboratoryStrength) -> Figure:
    """Tests, line and band; a record gets its curves above them."""
    from strength.plot import plot_envelope

    return plot_envelope(laboratory.fit, interpretations=())


def plot_sweeps(outcomes: list[SweepOutcome]) -> Figure:
    """Factor against input, one panel a sweep."""
    from stability.sensitivity_plot import Curve, plot_curves

    panels = []
    for one in outcomes:
        curves = [
            Curve(
                label=check.entry.label,
                limit_state=state if len(check.sweep.factors_of_safety) > 1 else "",
                factors=factors,
                target=getattr(check.entry.check, "target", None),
            )
            for check in one.checks
            for state, factors in check.sweep.factors_of_safety.items()
        ]
        panels.append((one.vary, one.unit, one.values, curves))
    return plot_curves(panels)
