r"""Words of a drawing as outlines: set once from letters that are kept, drawn as one path.

Symbols of formulas stand between dollar signs and are slanted: a Latin or Greek letter
(``$H$``, ``$\gamma$``), an index (``$P_{wd}$``), a prime. A dollar sign of its own is ``\$``.
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
from matplotlib.collections import PathCollection
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.ft2font import LoadFlags
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Affine2D, Bbox, IdentityTransform
from numpy.typing import NDArray

__all__ = ["Lettering", "Setting", "known_letters", "setting"]

Floats = NDArray[np.float64]

_FAMILY = "DejaVu Sans"
_UP, _DOWN = 0.76, 0.24  # above and below the base line, of the size
_LINE = 1.25  # between lines, of what stands above the base line
_INDEX, _LOWER = 0.7, 0.18  # size of an index, and how far it hangs, of the size
_RIM = 4.0  # width of the white about the words [pt]
_PIECES = re.compile(r"\\\$|\$([^$]*)\$|[^$\\]+|\\")
_SYMBOL = re.compile(r"\\([A-Za-z]+)\s*|_\{([^}]*)\}|_(.)|(.)")


@dataclass(frozen=True, slots=True)
class Setting:
    """Words that are set: their outline about their middle, and how wide and high they are."""

    outline: Path
    width: float
    height: float


def known_letters() -> frozenset[int]:
    """Code points that the font of drawings holds."""
    return _held(_FAMILY)


@lru_cache(maxsize=2)
def _held(family: str) -> frozenset[int]:
    return frozenset(get_font(findfont(FontProperties(family=family))).get_charmap())


@lru_cache(maxsize=1024)
def setting(words: str, size: float) -> Setting:
    """Words set in lines about one middle, at a size [pt]."""
    lines = [_line(line) for line in words.split("\n")]
    pitch = _DOWN + _LINE * _UP
    height = _UP + _DOWN + pitch * (len(lines) - 1)
    points, codes = [], []
    for number, (line, kinds, wide) in enumerate(lines):
        base = height / 2.0 - _UP - number * pitch
        points.append(line + np.array([-wide / 2.0, base]))
        codes.append(kinds)
    width = max(wide for *_, wide in lines)
    outline = Path(size * np.concatenate(points), np.concatenate(codes))
    return Setting(outline, size * width, size * height)


def _line(words: str) -> tuple[Floats, NDArray[np.uint8], float]:
    """Outline of one line from the left end of its base line, and its width, at size 1."""
    points, codes, x = [np.empty((0, 2))], [np.empty(0, dtype=np.uint8)], 0.0
    for letter, slanted, index in _letters(words):
        shape, kinds, advance = _letter(letter, slanted)
        share, drop = (_INDEX, -_LOWER) if index else (1.0, 0.0)
        points.append(share * shape + np.array([x, drop]))
        codes.append(kinds)
        x += share * advance
    return np.concatenate(points), np.concatenate(codes), x


def _letters(words: str) -> Iterator[tuple[str, bool, bool]]:
    """Each letter, whether it is slanted, and whether it is an index."""
    for piece in _PIECES.finditer(words):
        if piece.group(1) is None:
            yield from ((letter, False, False) for letter in piece.group().replace(r"\$", "$"))
            continue
        for greek, many, one, plain in _SYMBOL.findall(piece.group(1)):
            if many or one:
                yield from ((letter, True, True) for letter in many or one)
            elif greek:
                case = "SMALL" if greek.islower() else "CAPITAL"
                name = f"GREEK {case} LETTER {greek.removeprefix('var').upper()}"
                yield unicodedata.lookup(name), case == "SMALL", False
            elif plain != " ":
                # a prime and a digit stand upright
                yield ("′" if plain == "'" else plain), plain.isalpha(), False


@lru_cache(maxsize=512)
def _letter(letter: str, slanted: bool) -> tuple[Floats, NDArray[np.uint8], float]:
    """Outline and advance of a letter at size 1."""
    look = FontProperties(family=_FAMILY, style="oblique" if slanted else "normal")
    font: Any = get_font(findfont(look))
    font.set_size(100.0, 72.0)
    glyph = font.load_char(ord(letter), flags=LoadFlags.NO_HINTING)
    points, codes = font.get_path()
    return np.asarray(points) / 100.0, np.asarray(codes), glyph.linearHoriAdvance / 6553600.0


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
        # one outline in two inks, which a file then holds but once
        words = PathCollection(
            [self.setting.outline],
            offsets=[self._place(pixel)] * 2,
            facecolors=["white", self.get_color()],
            edgecolors=["white", "none"],
            linewidths=[_RIM, 0.0],
            joinstyle="round",
            transform=Affine2D().scale(pixel),
            offset_transform=IdentityTransform(),
        )
        figure: Any = self.get_figure(root=True)
        words.set_figure(figure)
        words.draw(renderer)
        self.stale = False
