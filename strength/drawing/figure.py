"""Figures that show themselves at the end of a notebook cell, with no magic and no pyplot."""

from __future__ import annotations

import io

from matplotlib.figure import Figure

__all__ = ["DrawnFigure"]


class DrawnFigure(Figure):
    """A figure as every ``plot`` of the project returns it."""

    def _repr_png_(self) -> bytes:
        stream = io.BytesIO()
        self.savefig(stream, format="png", dpi=110, bbox_inches="tight")
        return stream.getvalue()
