"""Figures as SVG inside a page, or as pixels in a PDF."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.cli.page.blocks import Picture

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from PIL.Image import Image

__all__ = ["FORMATS", "RESOLUTION", "Area", "area_of", "as_pixels", "as_svg", "encoded"]

RESOLUTION = 170
"""Dots an inch of a picture as pixels."""

FORMATS: dict[str, dict[str, str | None]] = {
    "png": {"Software": None},
    "svg": {"Date": None, "Creator": None},
    "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}
"""Formats of pictures, and what is left out of each: where and when it was made."""

_FINER = re.compile(r"(?<=\.\d\d)\d+")


@dataclass(frozen=True, slots=True)
class Area:
    """Where the axes of a figure stand in its SVG [pt]: left, bottom, width and height."""

    left: float
    bottom: float
    width: float
    height: float


def as_svg(picture: Picture, title: str) -> tuple[str, Area]:
    """The figure as an SVG element whose names are its own, and where its axes stand."""
    figure = picture.draw()
    return _inline(encoded(figure, "svg").decode(), picture.key, title), area_of(figure)


def encoded(figure: Figure, form: str, **look: Any) -> bytes:
    """A figure as a file in one of ``FORMATS``, the same bytes whenever it is drawn."""
    import matplotlib as mpl

    stream = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "slipmargin"}):
        figure.savefig(stream, format=form, metadata=FORMATS[form], **look)
    return stream.getvalue()


def _inline(document: str, key: str, title: str) -> str:
    """An SVG document as an element of a page, nothing in it shared with another."""
    body = document[document.index("<svg") :]
    for unwanted in (
        "<metadata>.*?</metadata>",
        r"<defs>\s*<style.*?</style>\s*</defs>",
        "<!--.*?-->",
    ):
        # a style sheet in one figure would dress the whole page
        body = re.sub(rf"{unwanted}\s*", "", body, flags=re.DOTALL)
    # paths to a hundredth of a point
    body = re.sub(r' d="[^"]+', lambda path: _FINER.sub("", path.group()).replace(" \n", ""), body)
    body = re.sub(r">\s+<", ">\n<", body)
    for name in (' id="', 'href="#', "url(#"):
        body = body.replace(name, f"{name}{key}-")
    head, rest = body.split(">", 1)
    box = re.search(r'viewBox="[^"]+"', head)
    assert box is not None
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'{box.group()} role="img" aria-labelledby="{key}-title" '
        'style="stroke-linejoin:round;stroke-linecap:butt">'
        f'<title id="{key}-title">{escape(title)}</title>{rest.strip()}'
    )


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
