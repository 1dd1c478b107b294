"""Figures as SVG inside a page, or as pixels in a PDF."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slipmargin.cli.page.blocks import Picture

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from PIL.Image import Image

__all__ = ["RESOLUTION", "Area", "area_of", "as_pixels", "as_svg"]

RESOLUTION = 170
"""Dots an inch of a picture as pixels."""


@dataclass(frozen=True, slots=True)
class Area:
    """Where the axes of a figure stand in its SVG [pt]: left, bottom, width and height."""

    left: float
    bottom: float
    width: float
    height: float


def as_svg(picture: Picture, title: str) -> tuple[str, Area]:
    """The figure as an SVG element whose names are its own, and where its axes stand."""
    from slipmargin.cli.page.svg import svg

    figure = picture.draw()
    return svg(figure, picture.key, title), area_of(figure)


def area_of(figure: Figure) -> Area:
    """Where the first axes of a drawn figure stand in its SVG."""
    width, height = 72.0 * figure.get_figwidth(), 72.0 * figure.get_figheight()
    box = figure.axes[0].get_position()
    return Area(
        left=box.x0 * width,
        bottom=(1.0 - box.y0) * height,
        width=box.width * width,
        height=box.height * height,
    )


def as_pixels(picture: Picture) -> tuple[Image, float]:
    """The figure as pixels, and its height over its width."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image as images

    figure = picture.draw()
    figure.set_dpi(RESOLUTION)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]
    seen = np.asarray(canvas.buffer_rgba())  # type: ignore[no-untyped-call]
    pixels = images.fromarray(seen[..., :3])
    return pixels, float(figure.get_figheight() / figure.get_figwidth())
