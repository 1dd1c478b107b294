"""Places the labels of a drawing where they cover neither each other nor its lines.

Every label has a point it belongs to. Places around that point, or places of its own, are
tried all at once; the cheapest wins: clear of other labels first, then of lines, then near.
A label that had to move away keeps a thin line to its point. Lengths are in points of print,
so the result does not depend on the size of the drawing in metres.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["OWN", "Label", "Stroke", "on_line", "place_labels", "stroke", "written"]

Floats = NDArray[np.float64]

_REACHES = (3.0, 9.0, 16.0, 26.0, 40.0, 58.0, 80.0, 108.0, 140.0)
_TURNS = np.arange(0.0, 360.0, 15.0)
_OUTSIDE, _ON_LABEL, _LEADER_ON_LABEL, _TURN = 4000.0, 2500.0, 400.0, 10.0
_PER_POINT = 0.9
_NO_SPOT = 80.0  # what it costs a label to stand outside its places
_GAP = 3.0  # kept free around a label
_PER_SAMPLE = 8.0  # what it costs to cover a sample of a line
_CELL = 1.5  # in which samples are counted
_STEP = 2.5  # between the samples that stand for a line
_SPOTS = 24  # places on a line that its label tries
OWN = 0.15
"""How much a label minds covering a line on which it may stand."""

_LEADER = 13.0  # a label farther than this gets a line to its point


@dataclass(frozen=True, slots=True)
class Label:
    """A label and the point it belongs to [m].

    ``towards`` is the side it likes best, as an angle [deg]. ``spots`` are places [m] for its
    middle, tried before places around the point.
    """

    text: str
    at: tuple[float, float]
    towards: float = 90.0
    size: float = 8.0
    ink: str = "black"
    spots: tuple[tuple[float, float], ...] = ()
    leader: bool = True


@dataclass(frozen=True, slots=True)
class Stroke:
    """A drawn line [m], and how much a label minds covering it."""

    points: tuple[tuple[float, float], ...]
    weight: float = 1.0


def written(text: str, longest: int = 40) -> str:
    """Text as it can be drawn: one line, not mathematics, no letter the font lacks."""
    from slipmargin.stability.drawing.lettering import known_letters

    known = known_letters()
    line = " ".join(unicodedata.normalize("NFC", text).split())
    short = line if len(line) <= longest else line[: longest - 1].rstrip() + "…"
    return "".join(one if ord(one) in known else "□" for one in short).replace("$", r"\$")


def stroke(path: Floats, weight: float = OWN) -> Stroke:
    """A path of points, shape (n, 2)."""
    return Stroke(tuple((float(x), float(y)) for x, y in path), weight)


def on_line(axes: Axes, words: str, paths: Sequence[Floats], ink: str) -> Label:
    """A label that stands on its line, or close by."""
    (low, high), (floor, top) = axes.get_xlim(), axes.get_ylim()
    every = np.vstack(paths)
    inside = (every[:, 0] >= low) & (every[:, 0] <= high)
    inside &= (every[:, 1] >= floor) & (every[:, 1] <= top)
    shown = every[inside] if np.any(inside) else every
    order = np.linspace(0, len(shown) - 1, min(_SPOTS, len(shown))).astype(int)
    middle_first = sorted(order, key=lambda one: abs(one - len(shown) / 2.0))
    spots = tuple((float(x), float(y)) for x, y in shown[middle_first])
    return Label(words, spots[0], ink=ink, spots=spots)


def place_labels(
    axes: Axes,
    labels: Sequence[Label],
    strokes: Iterable[Stroke],
    taken: Sequence[tuple[float, float, float, float]] = (),
) -> None:
    """Write the labels, in their order.

    Parameters
    ----------
    axes
        Where to; its limits and place are settled.
    labels
        The first is placed first and so has the freest choice.
    strokes
        What is drawn.
    taken
        Boxes already in use, left, bottom, right, top [pt of the figure].
    """
    from matplotlib.lines import Line2D

    from slipmargin.stability.drawing.lettering import Lettering, setting

    points = 72.0 / axes.figure.dpi
    frame = axes.get_window_extent()
    window = np.array([frame.x0, frame.y0, frame.x1, frame.y1]) * points
    ink = _Ink.of(_sampled(axes, strokes, points), window)
    placed = np.array(taken, dtype=float).reshape(-1, 4)
    for label in labels:
        words = setting(label.text, label.size)
        size = np.array([words.width, words.height])
        at, *spots = axes.transData.transform([label.at, *label.spots]) * points
        middles, wish = _places(label, at, size)
        if spots:
            middles = np.vstack((np.array(spots), middles))
            wish = np.concatenate((np.linspace(0.0, _TURN, len(spots)), wish + _NO_SPOT))
        boxes = np.hstack((middles - size / 2.0, middles + size / 2.0))
        cost = wish + _cost(boxes, window, placed) + _PER_SAMPLE * ink.under(boxes)
        ends = np.clip(at, boxes[:, :2], boxes[:, 2:])
        away = np.hypot(*(ends - at).T)
        led = label.leader & (away > _LEADER) & (np.arange(len(cost)) >= len(spots))
        cost += _LEADER_ON_LABEL * _crossings(at, ends, placed) * led
        best = int(np.argmin(cost))
        off = (middles[best] - at).tolist()
        axes.add_artist(Lettering(label.text, label.at, off, label.size, label.ink))
        placed = np.vstack((placed, boxes[best] + np.array([-1, -1, 1, 1]) * _GAP))
        if led[best]:
            x, y = axes.transData.inverted().transform([at / points, ends[best] / points]).T
            line = Line2D(x, y, linewidth=0.5, color="#4d4d4d", zorder=9, clip_on=False)
            axes.add_artist(line)
            ink = ink.and_also(_line(at, ends[best], 0.6))


def _places(label: Label, at: Floats, size: Floats) -> tuple[Floats, Floats]:
    """Middles of boxes around a point, and what each costs for itself."""
    turn = np.radians(label.towards + _TURNS)
    way = np.stack((np.cos(turn), np.sin(turn)), axis=1)
    lean = way / np.max(np.abs(way), axis=1, keepdims=True)
    reach = np.asarray(_REACHES)[:, None, None]
    middles = at + reach * way + lean * size / 2.0
    off = 1.0 - np.cos(np.radians(_TURNS))
    cost = _PER_POINT * reach[..., 0] + _TURN * off
    return middles.reshape(-1, 2), np.broadcast_to(cost, middles.shape[:2]).reshape(-1)


@dataclass(frozen=True, slots=True)
class _Ink:
    """Samples of all lines, counted in cells, and their sums from the lower left corner."""

    samples: Floats
    window: Floats
    sums: Floats

    @classmethod
    def of(cls, samples: Floats, window: Floats) -> _Ink:
        """The samples (x, y, weight) within a window."""
        size = np.ceil((window[2:] - window[:2]) / _CELL).astype(int)
        place = np.floor((samples[:, :2] - window[:2]) / _CELL).astype(int)
        inside = np.all((place >= 0) & (place < size), axis=1)
        cells = np.zeros(tuple(size + 1))
        np.add.at(cells, tuple(place[inside].T + 1), samples[inside, 2])
        return cls(samples, window, cells.cumsum(axis=0).cumsum(axis=1))

    def and_also(self, samples: Floats) -> _Ink:
        """With more samples."""
        return _Ink.of(np.vstack((self.samples, samples)), self.window)

    def under(self, boxes: Floats) -> Floats:
        """Weight of the samples under each box."""
        last = np.array(self.sums.shape) - 1
        low = np.clip(np.floor((boxes[:, :2] - self.window[:2]) / _CELL), 0, last).astype(int)
        high = np.clip(np.ceil((boxes[:, 2:] - self.window[:2]) / _CELL), 0, last).astype(int)
        (x0, y0), (x1, y1) = low.T, high.T
        sums = self.sums
        total: Floats = sums[x1, y1] - sums[x0, y1] - sums[x1, y0] + sums[x0, y0]
        return total


def _cost(boxes: Floats, window: Floats, placed: Floats) -> Floats:
    low, high = boxes[:, :2], boxes[:, 2:]
    beyond = np.maximum(window[:2] + _GAP - low, 0.0) + np.maximum(high - window[2:] + _GAP, 0.0)
    cost = _OUTSIDE * np.any(beyond > 0.0, axis=1) + 20.0 * beyond.sum(axis=1)
    shared = np.minimum(high[:, None], placed[:, 2:]) - np.maximum(low[:, None], placed[:, :2])
    area = np.prod(np.maximum(shared, 0.0), axis=2)
    total: Floats = cost + np.sum(_ON_LABEL * (area > 0.0) + 10.0 * area, axis=1)
    return total


def _crossings(at: Floats, ends: Floats, placed: Floats) -> Floats:
    """How much of each line from a point lies on labels already placed."""
    share = np.linspace(0.0, 1.0, 15)[:, None, None]
    x, y = np.moveaxis(at + share * (ends - at), 2, 0)[..., None]
    inside = (x > placed[:, 0]) & (x < placed[:, 2]) & (y > placed[:, 1]) & (y < placed[:, 3])
    count: Floats = inside.sum(axis=(0, 2)).astype(float)
    return count


def _sampled(axes: Axes, strokes: Iterable[Stroke], points: float) -> Floats:
    parts = [np.zeros((0, 3))]
    for stroke in strokes:
        corners = axes.transData.transform(np.asarray(stroke.points, dtype=float)) * points
        parts += [_line(a, b, stroke.weight) for a, b in pairwise(corners)]
    return np.vstack(parts)


def _line(start: Floats, end: Floats, weight: float) -> Floats:
    length = float(np.hypot(*(end - start)))
    count = int(min(max(length / _STEP, 1.0), 2000.0)) + 1
    along = start + np.linspace(0.0, 1.0, count)[:, None] * (end - start)
    return np.column_stack((along, np.full(count, weight)))
