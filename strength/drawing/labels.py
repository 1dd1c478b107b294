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
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["OWN", "Label", "Stroke", "inside", "on_line", "place_labels", "written"]

Floats = NDArray[np.float64]

_REACHES = np.array([3.0, 9.0, 16.0, 26.0, 40.0, 58.0, 80.0, 108.0, 140.0])
_TURNS = np.radians(np.arange(0.0, 360.0, 15.0))
_OUTSIDE, _ON_LABEL, _LEADER_ON_LABEL, _TURN = 4000.0, 2500.0, 6000.0, 10.0
_PER_POINT = 0.9
_NO_SPOT = 80.0  # what it costs a label to stand outside its places
_GAP = 3.0  # kept free around a label
_PER_SAMPLE = 8.0  # what it costs to cover a sample of a line
_CELL = 1.5  # in which samples are counted
_STEP = 2.5  # between the samples that stand for a line
_FEW = 48  # places that are tried before all
_SPOTS = 24  # places on a line that its label tries
OWN = 0.15
"""How much a label minds covering a line on which it may stand."""

_LEADER = 13.0  # a label farther than this gets a line to its point


@dataclass(frozen=True, slots=True)
class Label:
    """A label and the point it belongs to [m].

    ``towards`` is the side it likes best, as an angle [deg]; it stays ``clear`` of the point [pt].
    ``spots`` are places [m] for its middle, tried before places around the point.
    """

    text: str
    at: tuple[float, float]
    towards: float = 90.0
    size: float = 8.0
    ink: str = "black"
    spots: Sequence[tuple[float, float]] = ()
    leader: bool = True
    clear: float = 0.0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A drawn line of points (n, 2) [m], and how much a label minds covering it."""

    points: Any
    weight: float = OWN


def written(text: str, longest: int = 40) -> str:
    """Text as it can be drawn: one line, not mathematics, no letter the font lacks."""
    from slipmargin.strength.drawing.lettering import known_letters

    known = known_letters()
    line = " ".join(unicodedata.normalize("NFC", text).split())
    short = line if len(line) <= longest else line[: longest - 1].rstrip() + "…"
    return "".join(one if ord(one) in known else "□" for one in short).replace("$", r"\$")


def on_line(axes: Axes, words: str, paths: Sequence[Floats], ink: str) -> Label:
    """A label that stands on its line, or close by."""
    every = np.vstack(paths)
    seen = inside(axes, every)
    shown = every[seen] if np.any(seen) else every
    order = np.linspace(0, len(shown) - 1, min(_SPOTS, len(shown))).astype(int)
    middle_first = sorted(order, key=lambda one: abs(one - len(shown) / 2.0))
    spots = [(float(x), float(y)) for x, y in shown[middle_first]]
    return Label(words, spots[0], ink=ink, spots=spots)


def inside(axes: Axes, path: Floats) -> NDArray[np.bool_]:
    """Which points of a path the axes show."""
    (low, high), (floor, top) = axes.get_xlim(), axes.get_ylim()
    x, y = path.T
    seen: NDArray[np.bool_] = (x >= low) & (x <= high) & (y >= floor) & (y <= top)
    return seen


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

    from slipmargin.strength.drawing.lettering import Lettering, setting

    points = 72.0 / axes.figure.dpi
    window = np.asarray(axes.get_window_extent()).reshape(-1) * points
    ink = _Ink(window)
    ink.add(*_joined(axes, strokes, points))
    placed = np.array(taken, dtype=float).reshape(-1, 4)
    for label in labels:
        words = setting(label.text, label.size)
        size = np.array([words.width, words.height])
        at, *spots = axes.transData.transform([label.at, *label.spots]) * points
        middles, wish = _places(label, at, size)
        if spots:
            middles = np.vstack((spots, middles))
            wish = np.concatenate((np.linspace(0.0, _TURN, len(spots)), wish + _NO_SPOT))
        boxes = np.hstack((middles - size / 2.0, middles + size / 2.0))
        ends = np.clip(at, boxes[:, :2], boxes[:, 2:])
        led = label.leader & (np.hypot(*(ends - at).T) > _LEADER)
        led[: len(spots)] = False
        alone = wish + _beyond(boxes, window) + _PER_SAMPLE * ink.under(boxes)
        order = np.argsort(alone, kind="stable")
        # a place that costs no more than the next would alone is the cheapest of all
        for some in (order[:_FEW], order):
            cost = alone[some] + _on_others(boxes[some], placed)
            cost += np.where(led[some], _LEADER_ON_LABEL * _crossed(at, ends[some], placed), 0.0)
            best = int(some[np.argmin(cost)])
            if len(some) < len(order) and np.min(cost) <= alone[order[_FEW]]:
                break
        off = (middles[best] - at).tolist()
        axes.add_artist(Lettering(label.text, label.at, off, label.size, label.ink))
        placed = np.vstack((placed, boxes[best] + np.array([-1, -1, 1, 1]) * _GAP))
        if led[best]:
            line = np.array([at, ends[best]])
            x, y = axes.transData.inverted().transform(line / points).T
            axes.add_artist(Line2D(x, y, lw=0.5, color="#4d4d4d", zorder=9, clip_on=False))
            ink.add(line[:1], line[1:], np.array([0.6]))


def _places(label: Label, at: Floats, size: Floats) -> tuple[Floats, Floats]:
    """Middles of boxes around a point, and what each costs for itself."""
    turn = np.radians(label.towards) + _TURNS
    way = np.stack((np.cos(turn), np.sin(turn)), axis=1)
    lean = way / np.max(np.abs(way), axis=1, keepdims=True)
    middles = at + (_REACHES + label.clear)[:, None, None] * way + lean * size / 2.0
    cost = _PER_POINT * _REACHES[:, None] + _TURN * (1.0 - np.cos(_TURNS))
    return middles.reshape(-1, 2), cost.reshape(-1)


def _joined(axes: Axes, strokes: Iterable[Stroke], points: float) -> tuple[Floats, Floats, Floats]:
    """All strokes as pieces: their starts and ends [pt], and their weights."""
    paths = [(np.asarray(one.points, dtype=float), one.weight) for one in strokes]
    if not paths:
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0)
    corners = axes.transData.transform(np.concatenate([path for path, _ in paths])) * points
    lengths = [len(path) for path, _ in paths]
    first = np.ones(len(corners), dtype=bool)
    first[np.cumsum(lengths) - 1] = False  # the last point of a path starts no piece
    starts = np.flatnonzero(first)
    weights = np.repeat([weight for _, weight in paths], lengths)
    return corners[starts], corners[starts + 1], weights[starts]


class _Ink:
    """Samples of all lines, counted in cells, and their sums from the lower left corner."""

    def __init__(self, window: Floats) -> None:
        self.corner = window[:2]
        size = np.ceil((window[2:] - window[:2]) / _CELL).astype(int) + 1
        self.cells = np.zeros(tuple(size))
        self.sums = self.cells

    def add(self, starts: Floats, ends: Floats, weights: Floats) -> None:
        """Count straight pieces, one sample every few points."""
        whole = np.all(np.isfinite(ends - starts), axis=1)
        starts, way, weights = starts[whole], (ends - starts)[whole], weights[whole]
        count = np.clip(np.hypot(*way.T) / _STEP, 1.0, 2000.0).astype(int) + 1
        piece = np.repeat(np.arange(len(count)), count)
        step = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
        samples = starts[piece] + (step / (count - 1)[piece])[:, None] * way[piece]
        place = np.floor((samples - self.corner) / _CELL).astype(int) + 1
        held = np.all((place > 0) & (place < self.cells.shape), axis=1)
        flat = np.ravel_multi_index(tuple(place[held].T), self.cells.shape)
        more = np.bincount(flat, weights[piece[held]], self.cells.size)
        self.cells = self.cells + more.reshape(self.cells.shape)
        self.sums = self.cells.cumsum(axis=0).cumsum(axis=1)

    def under(self, boxes: Floats) -> Floats:
        """Weight of the samples under each box."""
        last = np.array(self.cells.shape) - 1
        low = np.clip(np.floor((boxes[:, :2] - self.corner) / _CELL), 0, last).astype(int)
        high = np.clip(np.ceil((boxes[:, 2:] - self.corner) / _CELL), 0, last).astype(int)
        (x0, y0), (x1, y1) = low.T, high.T
        sums = self.sums
        total: Floats = sums[x1, y1] - sums[x0, y1] - sums[x1, y0] + sums[x0, y0]
        return total


def _beyond(boxes: Floats, window: Floats) -> Floats:
    """What it costs a box to leave the window."""
    over = np.maximum(window[:2] + _GAP - boxes[:, :2], 0.0)
    over += np.maximum(boxes[:, 2:] - window[2:] + _GAP, 0.0)
    out: Floats = over.sum(axis=1)
    return np.where(out > 0.0, _OUTSIDE + 20.0 * out, 0.0)


def _on_others(boxes: Floats, placed: Floats) -> Floats:
    """What it costs a box to lie on labels already placed."""
    high, low = np.minimum(boxes[:, None], placed), np.maximum(boxes[:, None], placed)
    area = np.prod(np.maximum(high[..., 2:] - low[..., :2], 0.0), axis=2)
    total: Floats = np.sum(_ON_LABEL * (area > 0.0) + 10.0 * area, axis=1)
    return total


def _crossed(at: Floats, ends: Floats, placed: Floats) -> Floats:
    """How much of the line from a point to each end lies on labels already placed, as a share."""
    way = (ends - at)[:, None]
    way = np.where(np.abs(way) < 1e-9, 1e-9, way)
    one, other = (placed[:, :2] - at) / way, (placed[:, 2:] - at) / way
    start = np.maximum(np.minimum(one, other).max(axis=2), 0.0)
    end = np.minimum(np.maximum(one, other).min(axis=2), 1.0)
    share: Floats = np.maximum(end - start, 0.0).sum(axis=1)
    return share
