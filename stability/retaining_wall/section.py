"""The cross-section of a retaining wall: its outline, its base, and the soil that rests on it.

Axes: x from the toe towards the fill, y up from the underside of the base. The outline runs
counter-clockwise: toe, heel, up the back, over the top, down the front. Areas and moment
arms come from the outline by Green's theorem, so one rule serves every shape,

    A = ∮ x dy,    A x̄ = ½ ∮ x² dy,    A ȳ = ∮ x y dy,

and, because a level line has dy = 0, the part of a region below a water level is the same
sum over edges cut off at that level.

Shapes: ``cantilever`` (level base slab; stem with a vertical back and a sloped front),
``gravity`` (trapezoid, plane back), ``outline`` (any simple polygon on a level base). A base
key hangs below the base.

Limits: the underside is level; nothing of the wall stands out in front of the toe.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.fields import amount
from slipmargin.strength import InputError, Numeric

__all__ = ["SHAPES", "Chain", "Region", "Wall", "WallSection", "region", "wall_section"]

Chain = tuple[tuple[Numeric, Numeric], ...]
"""Points (x, y) [m] in order; each coordinate a scalar or an array that broadcasts."""

SHAPES: dict[str, tuple[str, ...]] = {
    "cantilever": (
        "stem_height",
        "stem_top_thickness",
        "stem_bottom_thickness",
        "toe_width",
        "heel_width",
        "base_thickness",
    ),
    "gravity": ("height", "top_width", "base_width", "back_offset"),
    "outline": ("points",),
}
"""The fields that each shape needs; the others are refused."""

_KEY = ("key_depth", "key_width", "key_position")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall: the fields of its shape, and of a base key where it has one.

    Points of an outline are (x, y) [m] in any origin, counter-clockwise, toe at the left,
    heel at the right, fill on the right.
    """

    unit_weight: Numeric = amount(
        "unit_weight", "γ_c", "Unit weight of the wall.", above=0.0, usual=(14.0, 27.0)
    )
    shape: str = fields.choice(tuple(SHAPES), "How the section is given.", default="cantilever")
    stem_height: Numeric | None = amount(
        "length",
        "h_s",
        "Cantilever: stem above the base slab.",
        default=None,
        above=0.0,
        usual=fields.USUAL_HEIGHT,
    )
    stem_top_thickness: Numeric | None = amount(
        "length", "b_st", "Cantilever: thickness of the stem at its top.", default=None, above=0.0
    )
    stem_bottom_thickness: Numeric | None = amount(
        "length", "b_sb", "Cantilever: thickness of the stem on the slab.", default=None, above=0.0
    )
    toe_width: Numeric | None = amount(
        "length", "b_toe", "Cantilever: slab in front of the stem.", default=None, low=0.0
    )
    heel_width: Numeric | None = amount(
        "length", "b_heel", "Cantilever: slab behind the stem.", default=None, low=0.0
    )
    base_thickness: Numeric | None = amount(
        "length", "t_b", "Cantilever: thickness of the slab.", default=None, above=0.0
    )
    height: Numeric | None = amount(
        "length", "h_g", "Gravity: height.", default=None, above=0.0, usual=fields.USUAL_HEIGHT
    )
    top_width: Numeric | None = amount(
        "length", "b_top", "Gravity: width of the top.", default=None, above=0.0
    )
    base_width: Numeric | None = amount(
        "length", "b_base", "Gravity: width of the base.", default=None, above=0.0
    )
    back_offset: Numeric | None = amount(
        "length",
        "b_off",
        "Gravity: heel to the back edge of the top, horizontally; 0 is a vertical back.",
        default=None,
        low=0.0,
    )
    points: Any = fields.ground("Outline: points, counter-clockwise.", default=None)
    key_depth: Numeric | None = amount(
        "length", "d_k", "Depth of a base key below the base.", default=None, above=0.0
    )
    key_width: Numeric | None = amount(
        "length", "b_k", "Width of the base key.", default=None, above=0.0
    )
    key_position: Numeric | None = amount(
        "length", "x_k", "Toe to the front of the base key.", default=None, low=0.0
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """Area and centroid of a region of the section.

    Parameters
    ----------
    area
        Area [m²].
    x, y
        Centroid [m]; 0 where there is no area.
    """

    area: NDArray[np.float64]
    x: NDArray[np.float64]
    y: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallSection:
    """The section as the forces see it.

    Parameters
    ----------
    back, front
        From the heel up to the back edge of the top; from the toe up to its front edge.
    width, height
        Width of the base and height from the underside to the top [m].
    wall, key
        Regions of the wall without its key, and of the key.
    key_depth, key_back
        Depth of the key, and its back from the toe [m]; 0 without one.
    face_foot, face_batter
        The back face that Coulomb's theory takes: where its line meets the level of the base
        [m from the toe], and its angle from vertical [deg].
    face_share
        Share of the back's height, above any step of the base, that lies on that line [-].
    """

    back: Chain
    front: Chain
    width: Numeric
    height: Numeric
    wall: Region
    key: Region
    key_depth: Numeric
    key_back: Numeric
    face_foot: Numeric
    face_batter: Numeric
    face_share: Numeric

    @property
    def top_to_heel(self) -> Numeric:
        """Horizontal distance from the back edge of the top to the heel [m]."""
        return self.width - np.asarray(self.back[-1][0])

    @property
    def overhang(self) -> Numeric:
        """How far the back stands out behind the heel [m]."""
        reach = self.back[0][0]
        for x, _ in self.back:
            reach = np.maximum(reach, x)
        return reach - np.asarray(self.width)

    def heel_soil(self, backfill_slope_angle: Numeric, below: Numeric | None = None) -> Region:
        """Soil between the back and the vertical plane through the heel.

        Parameters
        ----------
        backfill_slope_angle
            Rise of the ground from the back edge of the top [deg].
        below
            Only what lies below this level [m above the base].
        """
        rise = self.top_to_heel * np.tan(np.radians(backfill_slope_angle))
        corner = (self.width, self.height + rise)
        return region((self.back[0], corner, *reversed(self.back)), below)

    def in_front(self, below: Numeric) -> Region:
        """What stands on the toe: between the front and the vertical through the toe.

        Parameters
        ----------
        below
            Level of the ground or the water in front [m above the base].
        """
        return region(self.front, below)


def region(chain: Chain, below: Numeric | None = None) -> Region:
    """Area and centroid of the region that a chain of points encloses.

    Parameters
    ----------
    chain
        Counter-clockwise and closed; or running up from one level to another, and then the
        region between it and x = 0.
    below
        Only what lies below this level [m].
    """
    area: Any = 0.0
    along: Any = 0.0
    up: Any = 0.0
    for start, end in pairwise(chain):
        (x1, y1), (x2, y2) = start, end
        if below is not None:
            (x1, y1), (x2, y2) = _cut(start, end, below), _cut(end, start, below)
        dy = np.asarray(y2, dtype=float) - y1
        area = area + 0.5 * (x1 + np.asarray(x2)) * dy
        along = along + (x1 * x1 + x1 * np.asarray(x2) + x2 * x2) * dy / 6.0
        up = up + (2.0 * (x1 * np.asarray(y1) + x2 * y2) + x1 * y2 + x2 * y1) * dy / 6.0
    some = area != 0.0
    divisor = np.where(some, area, 1.0)
    return Region(
        area=np.asarray(area),
        x=np.where(some, along / divisor, 0.0),
        y=np.where(some, up / divisor, 0.0),
    )


def _cut(
    point: tuple[Numeric, Numeric], other: tuple[Numeric, Numeric], level: Numeric
) -> tuple[Any, Any]:
    """The point, moved along its edge down to the level where it lies above."""
    (x, y), (x_other, y_other) = point, other
    y_cut = np.minimum(y, level)
    span = np.asarray(y, dtype=float) - y_other
    share = np.where(span != 0.0, (y - y_cut) / np.where(span != 0.0, span, 1.0), 0.0)
    return x + np.clip(share, 0.0, 1.0) * (x_other - np.asarray(x)), y_cut


def wall_section(wall: Wall) -> WallSection:
    """The section of a wall.

    Raises
    ------
    InputError
        A field that the shape lacks or does not have; a key that is not whole or stands out
        from the base; an outline that is clockwise, crosses itself, has no level base, or
        stands out in front of its toe.
    """
    _hold_to_shape(wall)
    match wall.shape:
        case "cantilever":
            back, front = _cantilever(wall)
        case "gravity":
            back, front = _gravity(wall)
        case _:
            back, front = _outline(wall.points)
    width = back[0][0]
    # the stem of a cantilever, also where its slab is the taller
    foot, batter, share = _face(back[-2:] if wall.shape == "cantilever" else back)
    key_depth, key_back, key = _key(wall, width)
    return WallSection(
        back=back,
        front=front,
        width=width,
        height=back[-1][1],
        wall=region((front[0], *back, *reversed(front))),
        key=key,
        key_depth=key_depth,
        key_back=key_back,
        face_foot=foot,
        face_batter=batter,
        face_share=share,
    )


def _hold_to_shape(wall: Wall) -> None:
    for shape, names in SHAPES.items():
        for name in names:
            value = getattr(wall, name)
            if shape == wall.shape and value is None:
                raise InputError(name, "nothing", f"a wall of shape {shape} needs it")
            if shape != wall.shape and value is not None:
                needed = ", ".join(SHAPES[wall.shape])
                raise InputError(
                    name, value, f"a wall of shape {wall.shape} does not have it, but: {needed}"
                )
    stated = [name for name in _KEY if getattr(wall, name) is not None]
    if stated and len(stated) < len(_KEY):
        missing = next(name for name in _KEY if name not in stated)
        raise InputError(missing, "nothing", f"a base key needs {', '.join(_KEY)}")


def _key(
    wall: Wall, base_width: Numeric
) -> tuple[NDArray[np.float64], NDArray[np.float64], Region]:
    if wall.key_depth is None:
        return np.zeros(()), np.zeros(()), region(((0.0, 0.0), (0.0, 0.0)))
    left, depth = _array(wall.key_position), _array(wall.key_depth)
    right = left + _array(wall.key_width)
    if np.any(right > base_width * np.float64(1.0 + 1e-12)):
        raise InputError("key_position", wall.key_position, "the key must lie below the base")
    corners = ((left, -depth), (right, -depth), (right, 0.0), (left, 0.0), (left, -depth))
    return depth, right, region(corners)


def _cantilever(wall: Wall) -> tuple[Chain, Chain]:
    toe, top = _array(wall.toe_width), _array(wall.base_thickness)
    bottom_thickness, top_thickness = wall.stem_bottom_thickness, wall.stem_top_thickness
    if np.any(_array(top_thickness) > _array(bottom_thickness)):
        raise InputError(
            "stem_top_thickness",
            top_thickness,
            "allowed: up to stem_bottom_thickness; give a stem that leans out as an outline",
        )
    stem_back = toe + _array(bottom_thickness)
    heel = stem_back + _array(wall.heel_width)
    height = top + _array(wall.stem_height)
    back = ((heel, 0.0), (heel, top), (stem_back, top), (stem_back, height))
    front = ((0.0, 0.0), (0.0, top), (toe, top), (stem_back - _array(top_thickness), height))
    return back, front


def _gravity(wall: Wall) -> tuple[Chain, Chain]:
    heel, height = _array(wall.base_width), _array(wall.height)
    back_edge = heel - _array(wall.back_offset)
    front_edge = back_edge - _array(wall.top_width)
    if np.any(front_edge < -1e-12 * heel):
        raise InputError(
            "base_width",
            wall.base_width,
            "allowed: from top_width + back_offset upward; give a wall that leans out over its "
            "toe as an outline",
        )
    return ((heel, 0.0), (back_edge, height)), ((0.0, 0.0), (front_edge, height))


def _array(value: Any) -> NDArray[np.float64]:
    return np.asarray(value, dtype=float)


def _outline(points: Any) -> tuple[Chain, Chain]:
    shown = "points"
    try:
        xy = np.asarray(points, dtype=float)
    except (TypeError, ValueError) as error:
        raise InputError(shown, points, "a list of [x, y] in metres is wanted") from error
    if xy.ndim != 2 or xy.shape[1] != 2 or len(xy) < 3 or not np.all(np.isfinite(xy)):
        raise InputError(shown, points, "three or more finite [x, y] in metres are wanted")
    if np.array_equal(xy[0], xy[-1]):
        xy = xy[:-1]
    if not shapely.Polygon(xy).is_valid:
        raise InputError(shown, points, "the outline crosses or touches itself")
    if not shapely.LinearRing(xy).is_ccw:
        raise InputError(
            shown,
            points,
            "the outline runs clockwise; list it counter-clockwise from the toe at the left "
            "along the base to the heel at the right, so that the fill is on the right",
        )
    size = float(np.ptp(xy))
    xy = xy - xy.min(axis=0)
    low = np.flatnonzero(xy[:, 1] <= 1e-9 * size)
    toe, heel = low[np.argmin(xy[low, 0])], low[np.argmax(xy[low, 0])]
    width = xy[heel, 0] - xy[toe, 0]
    if width <= 1e-9 * size:
        raise InputError(shown, points, "the lowest edge must be a level base with some width")
    xy[:, 0] -= xy[toe, 0]
    if (heel - toe) % len(xy) != len(low) - 1:
        raise InputError(shown, points, "the base must be one level edge from toe to heel")
    if xy[:, 0].min() < -1e-9 * size:
        raise InputError(
            shown,
            points,
            "no part of the wall may stand out in front of the toe; a base key has its own fields",
        )
    highest = np.flatnonzero(xy[:, 1] >= xy[:, 1].max() - 1e-9 * size)
    top_back = highest[np.argmax(xy[highest, 0])]
    top_front = highest[np.argmin(xy[highest, 0])]
    if (top_front - top_back) % len(xy) != len(highest) - 1:
        raise InputError(shown, points, "the top must be one level edge or one point")
    back = _run(xy, int(heel), int(top_back))
    front = _run(xy, int(top_front), int(toe))
    return back, tuple(reversed(front))


def _run(xy: NDArray[np.float64], start: int, stop: int) -> Chain:
    count = (stop - start) % len(xy) + 1
    rows = [xy[(start + step) % len(xy)] for step in range(count)]
    return tuple((np.float64(x), np.float64(y)) for x, y in rows)


def _face(back: Chain) -> tuple[Numeric, Numeric, Numeric]:
    """Foot, batter and share of the tallest straight part of the back; of equals the upper."""
    edges = list(pairwise(back))
    (x1, y1), (x2, y2) = max(
        reversed(edges), key=lambda edge: float(np.min(_array(edge[1][1]) - edge[0][1]))
    )
    rise = _array(y2) - y1
    lean = (x1 - _array(x2)) / rise
    return x1 + lean * y1, np.degrees(np.arctan(lean)), rise / (back[-1][1] - _array(y1))
