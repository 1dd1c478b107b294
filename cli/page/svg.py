"""Writes figures as SVG: short enough for a page of many, with every letter held but once."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, partial
from html import escape
from typing import Any

import numpy as np
from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.path import Path
from matplotlib.transforms import Affine2D, Transform

from slipmargin.strength.drawing.lettering import Outline

__all__ = ["svg"]

_TILE = 72.0  # side of a tile of a hatch [pt]
_EM = 1000.0  # units of a letter, so that whole numbers are fine enough
_COMMANDS = {Path.MOVETO: "M", Path.LINETO: "L", Path.CURVE3: "Q", Path.CURVE4: "C"}


def svg(figure: Figure, key: str, title: str, *, margin: float | None = None) -> str:
    """A figure as an SVG element whose names start with a key, none shared with another.

    With a margin [in] it is a picture by itself, of its own size: all that is drawn, and no more.
    """
    figure.set_dpi(72.0)
    width, height = 72.0 * figure.get_figwidth(), 72.0 * figure.get_figheight()
    writer = _Writer(width, height, key)
    box, size = [0.0, 0.0, width, height], ""
    if margin is not None:
        around = figure.get_tightbbox(writer).padded(margin)
        box = [
            72.0 * around.x0,
            height - 72.0 * around.y1,
            72.0 * around.width,
            72.0 * around.height,
        ]
        size = f'width="{_short(box[2])}pt" height="{_short(box[3])}pt" '
    figure.draw(writer)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}viewBox="{" ".join(map(_short, box))}" '
        f'role="img" aria-labelledby="{key}-title" '
        f'style="stroke-linejoin:round;stroke-linecap:butt"><title id="{key}-title">'
        f"{escape(title)}</title>\n<defs>{''.join(writer.held)}</defs>\n"
        + "\n".join(writer.drawn)
        + "\n</svg>"
    )


class _Writer(RendererBase):
    """Collects what a figure draws; one unit is a point of print."""

    def __init__(self, width: float, height: float, key: str) -> None:
        super().__init__()
        self.size, self.key = (width, height), key
        self.down = np.array([[1.0, 0.0, 0.0], [0.0, -1.0, height], [0.0, 0.0, 1.0]])
        self.held: list[str] = []
        self.drawn: list[str] = []
        self._names: dict[Any, str] = {}

    def get_canvas_width_height(self) -> tuple[float, float]:
        return self.size

    def points_to_pixels(self, points: Any) -> Any:
        return points

    def draw_path(
        self, gc: GraphicsContextBase, path: Path, transform: Transform, rgbFace: Any = None
    ) -> None:
        to_page, dress = (
            self.down @ transform.get_matrix(),
            self._clip(gc) + self._fill(gc, rgbFace),
        )
        if isinstance(path, Outline):
            if not path.letters:
                return
            size = path.letters[0][3] / _EM
            name = self._name(path, lambda name: self._words(name, path))
            to_page[:, :2] *= size
            place = " ".join(_short(one, 5) for one in to_page[:2].T.reshape(-1))
            dress += _stroke(gc, 1.0 / size)
            self.drawn.append(f'<use href="#{name}" transform="matrix({place})"{dress}/>')
        elif data := _data(path, to_page, filled=rgbFace is not None):
            self.drawn.append(f'<path d="{data}"{dress}{_stroke(gc)}/>')

    def _name(self, thing: Any, hold: Callable[[str], str]) -> str:
        """The name under which a thing is held, as ``hold`` writes it under its name."""
        if thing not in self._names:
            self._names[thing] = name = f"{self.key}-{len(self._names)}"
            self.held.append(hold(name))
        return self._names[thing]

    def _words(self, name: str, outline: Outline) -> str:
        """Letters side by side, in units of the first of them."""
        first = outline.letters[0][3]
        uses = []
        for letter, x, y, size in outline.letters:
            shape = self._name(letter, partial(_shape, letter))
            place = f"{_EM * x / first:.0f}", f"{_EM * y / first:.0f}"
            at = 'x="{}" y="{}"'.format(*place)
            if size != first:
                at = 'transform="translate({} {})scale({})"'.format(*place, _short(size / first))
            uses.append(f'<use href="#{shape}" {at}/>')
        return f'<g id="{name}">{"".join(uses)}</g>'

    def _clip(self, gc: GraphicsContextBase) -> str:
        box = gc.get_clip_rectangle()
        if box is None:
            return ""
        (x0, y0), (x1, y1) = np.asarray(box)
        x, y, wide, high = map(_short, (x0, self.size[1] - y1, x1 - x0, y1 - y0))
        shape = f'<rect x="{x}" y="{y}" width="{wide}" height="{high}"/>'
        name = self._name(shape, lambda name: f'<clipPath id="{name}">{shape}</clipPath>')
        return f' clip-path="url(#{name})"'

    def _fill(self, gc: GraphicsContextBase, face: Any) -> str:
        hatch: Any = gc.get_hatch_path()
        if hatch is not None:
            ink = to_hex(gc.get_hatch_color())
            ground = "none" if face is None else to_hex(face)
            tile = np.array([[_TILE, 0.0, 0.0], [0.0, -_TILE, _TILE], [0.0, 0.0, 1.0]])
            data, wide = _data(hatch, tile, filled=True), _short(gc.get_hatch_linewidth())
            words = (
                f'patternUnits="userSpaceOnUse" width="{_TILE:g}" height="{_TILE:g}">'
                f'<rect width="{_TILE + 1:g}" height="{_TILE + 1:g}" fill="{ground}"/>'
                f'<path d="{data}" fill="{ink}" stroke="{ink}" stroke-width="{wide}"/></pattern>'
            )
            name = self._name(words, lambda name: f'<pattern id="{name}" {words}')
            return f' fill="url(#{name})"'
        if face is None:
            return ' fill="none"'
        return f' fill="{to_hex(face)}"' + _alpha("fill", gc, face)


def _stroke(gc: GraphicsContextBase, scale: float = 1.0) -> str:
    """The dress of a line, in units of which so many make a point."""
    if not (wide := gc.get_linewidth()):
        return ""
    ink = gc.get_rgb()
    dress = f' stroke="{to_hex(ink)}" stroke-width="{_short(wide * scale)}"'
    dashed: Any = gc.get_dashes()
    offset, dashes = dashed
    if dashes is not None:
        dress += f' stroke-dasharray="{" ".join(_short(one) for one in dashes)}"'
        dress += f' stroke-dashoffset="{_short(offset)}"' if offset else ""
    if gc.get_joinstyle() != "round":
        dress += f' stroke-linejoin="{gc.get_joinstyle()}"'
    if (cap := gc.get_capstyle()) != "butt":
        dress += f' stroke-linecap="{"square" if cap == "projecting" else cap}"'
    return dress + _alpha("stroke", gc, ink)


def _alpha(of: str, gc: GraphicsContextBase, ink: Any) -> str:
    alpha = gc.get_alpha() if gc.get_forced_alpha() else (*ink, 1.0)[3]
    return "" if alpha == 1.0 else f' {of}-opacity="{_short(alpha)}"'


def _shape(letter: Path, name: str) -> str:
    return f'<path id="{name}" d="{_letter(letter)}"/>'


@lru_cache(maxsize=512)
def _letter(letter: Path) -> str:
    whole = Path(np.round(_EM * np.asarray(letter.vertices)), letter.codes)
    return _data(whole, np.eye(3), filled=True)


def _data(path: Path, to_page: Any, *, filled: bool) -> str:
    """A path to a hundredth of a point; a command is written where it changes."""
    clean: Any = path.cleaned(Affine2D(to_page), remove_nans=True, simplify=not filled, curves=True)
    parts, last = [], None
    corners = (np.round(clean.vertices, 2) + 0.0).tolist()
    for (x, y), code in zip(corners, clean.codes.tolist(), strict=True):
        if code == Path.STOP:
            break
        if code == Path.CLOSEPOLY:
            parts.append("Z")
        else:
            command = " " if code == last != Path.MOVETO else _COMMANDS[code]
            parts.append(f"{command}{x:.6g} {y:.6g}")
        last = code
    return "".join(parts)


def _short(value: float, digits: int = 2) -> str:
    return f"{round(float(value), digits) + 0.0:g}"
