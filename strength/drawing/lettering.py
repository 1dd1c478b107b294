r"""Words of a drawing as outlines: set once from letters that are kept, drawn as one path.

Symbols of formulas stand between dollar signs and are slanted: a Latin or Greek letter
(``$H$``, ``$\gamma$``), an index (``$P_{wd}$``), a power (``$x^{2}$``), a prime. A dollar sign
of its own is ``\$``.
Lengths are in points of print.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.ft2font import LoadFlags
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Affine2D, Bbox
from numpy.typing import NDArray

__all__ = ["Lettering", "Letters", "Outline", "Setting", "known_letters", "setting"]

Floats = NDArray[np.float64]

_FAMILY = "DejaVu Sans"
_UP, _DOWN = 0.76, 0.24  # above and below the base line, of the size
_LINE = 1.25  # between lines, of what stands above the base line
_SMALLER = 0.7  # an index or a power, of the size
_RISES = {"": 0.0, "_": -0.18, "^": 0.34}  # how far they stand off the base line, of the size
_RIM = 4.0  # width of the white about the words [pt]
_PIECES = re.compile(r"\\\$|\$([^$]*)\$|[^$\\]+|\\")
_SYMBOL = re.compile(r"\\([A-Za-z]+)\s*|([_^])(?:\{([^}]*)\}|(.))|(.)")

Letters = tuple[tuple[Path, float, float, float], ...]
"""Letters at size 1 that words are made of, each with its place and its size [pt]."""


class Outline(Path):
    """The outline of words, which knows its letters."""

    def __init__(self, letters: Letters) -> None:
        shapes: list[Any] = [np.empty((0, 2))]
        codes: list[Any] = [np.empty(0, dtype=Path.code_type)]
        for letter, x, y, size in letters:
            shapes.append(size * np.asarray(letter.vertices) + [x, y])
            codes.append(letter.codes)
        super().__init__(np.concatenate(shapes), np.concatenate(codes))
        self.letters = letters


@dataclass(frozen=True, slots=True)
class Setting:
    """Words that are set: their outline about their middle, and how wide and high they are."""

    outline: Outline
    width: float
    height: float


@lru_cache(maxsize=1)
def known_letters() -> frozenset[int]:
    """Code points that the font of drawings holds."""
    return frozenset(get_font(findfont(FontProperties(family=_FAMILY))).get_charmap())


@lru_cache(maxsize=1024)
def setting(words: str, size: float) -> Setting:
    """Words set in lines about one middle, at a size [pt]."""
    lines = words.split("\n")
    pitch = (_DOWN + _LINE * _UP) * size
    height = (_UP + _DOWN) * size + pitch * (len(lines) - 1)
    letters: list[tuple[Path, float, float, float]] = []
    width = 0.0
    for number, line in enumerate(lines):
        base, x, first = height / 2.0 - _UP * size - number * pitch, 0.0, len(letters)
        for sign, slanted, place in _signs(line):
            letter, advance = _letter(sign, slanted)
            share = _SMALLER if place else 1.0
            letters.append((letter, x, base + _RISES[place] * size, share * size))
            x += share * size * advance
        letters[first:] = [(one, at - x / 2.0, y, much) for one, at, y, much in letters[first:]]
        width = max(width, x)
    return Setting(Outline(tuple(letters)), width, height)


def _signs(words: str) -> Iterator[tuple[str, bool, str]]:
    """Each sign, whether it is slanted, and whether it is an index or a power."""
    for piece in _PIECES.finditer(words):
        if piece.group(1) is None:
            yield from ((sign, False, "") for sign in piece.group().replace(r"\$", "$"))
            continue
        for greek, place, many, one, plain in _SYMBOL.findall(piece.group(1)):
            if place:
                yield from ((sign, sign.isalpha(), place) for sign in many or one)
            elif greek:
                case = "SMALL" if greek.islower() else "CAPITAL"
                name = f"GREEK {case} LETTER {greek.removeprefix('var').upper()}"
                yield unicodedata.lookup(name), case == "SMALL", ""
            elif plain != " ":
                # a prime and a digit stand upright
                yield ("′" if plain == "'" else plain), plain.isalpha(), ""


@lru_cache(maxsize=512)
def _letter(sign: str, slanted: bool) -> tuple[Path, float]:
    """Outline and advance of a letter at size 1."""
    look = FontProperties(family=_FAMILY, style="oblique" if slanted else "normal")
    font: Any = get_font(findfont(look))
    font.set_size(100.0, 72.0)
    glyph = font.load_char(ord(sign), flags=LoadFlags.NO_HINTING)
    points, codes = font.get_path()
    return Path(np.asarray(points) / 100.0, np.asarray(codes)), glyph.linearHoriAdvance / 6553600.0


class Lettering(Text):
    """Words about a middle that stands off a point of the data, white about them."""

    def __init__(
        self, words: str, at: tuple[float, float], off: tuple[float, float], size: float, ink: str
    ) -> None:
        """``off`` is the middle of the words from their point [pt]."""
        super().__init__(*at, words, color=ink, fontsize=size, parse_math=False, zorder=10.0)
        self.off = off
        self.setting = setting(words, size)

    def _place(self, pixel: float) -> tuple[float, float]:
        x, y = self.get_transform().transform(self.get_position())
        return x + self.off[0] * pixel, y + self.off[1] * pixel

    def get_window_extent(self, renderer: Any = None, dpi: float | None = None) -> Bbox:  # noqa: ARG002
        """The box of the words [px]."""
        figure: Any = self.get_figure(root=True)
        pixel = (figure.dpi if dpi is None else dpi) / 72.0
        x, y = self._place(pixel)
        wide, high = 0.5 * self.setting.width * pixel, 0.5 * self.setting.height * pixel
        return Bbox.from_extents(x - wide, y - high, x + wide, y + high)

    def draw(self, renderer: Any) -> None:
        """Draw the white, then the words."""
        if not self.get_visible():
            return
        pixel = renderer.points_to_pixels(1.0)
        to_page = Affine2D().scale(pixel).translate(*self._place(pixel))
        for ink, rim in (("white", _RIM * pixel), (self.get_color(), 0.0)):
            gc = renderer.new_gc()
            gc.set_foreground(ink)
            gc.set_linewidth(rim)
            gc.set_joinstyle("round")
            renderer.draw_path(gc, self.setting.outline, to_page, gc.get_rgb())
            gc.restore()
        self.stale = False
