"""The cross-section of a retaining wall: its outline, its base, and the soil that rests on it.

Axes: x from the toe towards the fill, y up from the underside of the base. The outline runs
counter-clockwise: toe, heel, up the back, over the top, down the front. Regions are
sums of strips: see :mod:`stability.retaining_wall.strips`.

Shapes: ``cantilever`` (level base slab; stem with a vertical back and a sloped front),
``gravity`` (trapezoid, plane back), ``outline`` (any simple polygon on a level base). A base
key hangs below the base.

Limits: the underside is level; nothing of the wall stands out in front of the toe.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial, reduce
from itertools import pairwise
from typing import Annotated, Any

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.fields import Amount
from slipmargin.stability.retaining_wall.strips import Chain, Region, Strip, region, strips_on
from slipmargin.strength import InputError, Numeric

__all__ = ["SHAPES", "Wall", "WallSection", "wall_section"]

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


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall: the fields of its shape, and of a base key where it has one.

    Points of an outline are (x, y) [m] in any origin, counter-clockwise, toe at the left,
    heel at the right, fill on the right.
    """

    unit_weight: Annotated[
        Numeric,
        Amount("unit_weight", "γ_c", "Unit weight of the wall.", above=0.0, usual=(14.0, 27.0)),
    ]
    shape: Annotated[str, fields.Choice(tuple(SHAPES), "How the section is given.")] = "cantilever"
    stem_height: Annotated[
        Numeric | None,
        Amount(
            "length",
            "h_s",
            "Cantilever: stem above the base slab.",
            above=0.0,
            usual=fields.USUAL_HEIGHT,
        ),
    ] = None
    stem_top_thickness: Annotated[
        Numeric | None,
        Amount("length", "b_st", "Cantilever: thickness of the stem at its top.", above=0.0),
    ] = None
    stem_bottom_thickness: Annotated[
        Numeric | None,
        Amount("length", "b_sb", "Cantilever: thickness of the stem on the slab.", above=0.0),
    ] = None
    toe_width: Annotated[
        Numeric | None, Amount("length", "b_toe", "Cantilever: slab in front of the stem.", low=0.0)
    ] = None
    heel_width: Annotated[
        Numeric | None, Amount("length", "b_heel", "Cantilever: slab behind the stem.", low=0.0)
    ] = None
    base_thickness: Annotated[
        Numeric | None, Amount("length", "t_b", "Cantilever: thickness of the slab.", above=0.0)
    ] = None
    height: Annotated[
        Numeric | None,
        Amount("length", "h_g", "Gravity: height.", above=0.0, usual=fields.USUAL_HEIGHT),
    ] = None
    top_width: Annotated[
        Numeric | None, Amount("length", "b_top", "Gravity: width of the top.", above=0.0)
    ] = None
    base_width: Annotated[
        Numeric | None, Amount("length", "b_base", "Gravity: width of the base.", above=0.0)
    ] = None
    back_offset: Annotated[
        Numeric | None,
        Amount(
            "length",
            "b_off",
            "Gravity: heel to the back edge of the top, horizontally; 0 is a vertical back.",
            low=0.0,
        ),
    ] = None
    points: Annotated[Any, fields.Ground("Outline: points, counter-clockwise.")] = None
    key_depth: Annotated[
        Numeric | None, Amount("length", "d_k", "Depth of a base key below the base.", above=0.0)
    ] = None
    key_width: Annotated[
        Numeric | None, Amount("length", "b_k", "Width of the base key.", above=0.0)
    ] = None
    key_position: Annotated[
        Numeric | None, Amount("length", "x_k", "Toe to the front of the base key.", low=0.0)
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WallSection:
    """The section as the forces see it; lengths in [m].

    ``back`` runs from the heel up to the back edge of the top and ``front`` from the toe up to its
    front edge; ``behind`` and ``before`` are the room from there to the uprights through heel and
    toe, up to the top. ``width`` is that of the base, ``height`` that of the top above it,
    ``top_to_heel`` the horizontal distance from its back edge to the heel, and ``wall`` the region
    of the wall without its key. The key's sizes and its front from the toe are 0 without one.

    Of the back face that Coulomb's theory takes, ``face_foot`` is where its line meets the level
    of the base, from the toe; ``face_batter`` its angle from vertical [deg]; ``face_head`` how far
    it stands behind the back edge of the top; ``face_share`` the share of the back's height, above
    any step of the base, that lies on it [-].
    """

    back: Chain
    front: Chain
    width: Numeric
    height: Numeric
    top_to_heel: Numeric
    behind: tuple[Strip, ...]
    before: tuple[Strip, ...]
    wall: Region
    key_depth: Numeric = 0.0
    key_width: Numeric = 0.0
    key_front: Numeric = 0.0
    face_foot: Numeric
    face_batter: Numeric
    face_share: Numeric
    face_head: Numeric = 0.0

    @property
    def key(self) -> Region:
        """Region of the key."""
        area = self.key_depth * self.key_width
        middle = self.key_front + self.key_width / 2.0
        return Region(area, area * middle, -area * self.key_depth / 2.0)

    @property
    def overhang(self) -> Numeric:
        """How far the back stands out behind the heel [m]."""
        return reduce(np.maximum, [x for x, _ in self.back]) - np.asarray(self.width)

    def heel_soil(self, backfill_slope_angle: Numeric, below: Numeric | None = None) -> Region:
        """Soil between the back and the vertical plane through the heel, below ground that
        rises at an angle [deg] from the back edge of the top; only what lies ``below`` a level
        [m above the base].
        """
        reach = self.top_to_heel
        rise = reach * np.tan(np.radians(backfill_slope_angle))
        ground = Strip(self.width, -1.0, self.height, rise, reach, 0.0)
        return region((*self.behind, ground), below)

    def in_front(self, below: Numeric) -> Region:
        """What stands on the toe, up to a level [m above the base]: between the front and the
        vertical through the toe.
        """
        return region(self.before, below)


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
            section = _cantilever(wall)
        case "gravity":
            section = _gravity(wall)
        case _:
            section = _outline(wall)
    return section if wall.key_depth is None else _with_key(section, wall)


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


def _with_key(section: WallSection, wall: Any) -> WallSection:
    front, width = wall.key_position, wall.key_width
    beyond = front + width > section.width * (1.0 + 1e-12)
    fields.refuse(wall, "key_position", beyond, "the key must lie below the base")
    return replace(section, key_depth=wall.key_depth, key_width=width, key_front=front)


def _cantilever(wall: Any) -> WallSection:
    toe, reach = wall.toe_width, wall.heel_width
    over, under = wall.stem_top_thickness, wall.stem_bottom_thickness
    slab, stem = wall.base_thickness, wall.stem_height
    fields.refuse(
        wall,
        "stem_top_thickness",
        over > under,
        "allowed: up to stem_bottom_thickness; give a stem that leans out as an outline",
    )
    stem_back = toe + under
    width, height = stem_back + reach, slab + stem
    base = Strip(0.0, 1.0, 0.0, slab, width, width)
    upright = Strip(stem_back, -1.0, slab, stem, under, over)
    return WallSection(
        back=((width, 0.0), (width, slab), (stem_back, slab), (stem_back, height)),
        front=((0.0, 0.0), (0.0, slab), (toe, slab), (stem_back - over, height)),
        width=width,
        height=height,
        top_to_heel=+reach,
        behind=(Strip(width, -1.0, slab, stem, reach, reach),),
        before=(
            Strip(0.0, 1.0, slab, stem, toe, toe),
            Strip(toe, 1.0, slab, stem, 0.0, under - over),
        ),
        wall=region((base, upright)),
        # the back of the stem, also where its slab is the taller
        face_foot=+stem_back,
        face_batter=0.0,
        face_share=1.0,
    )


def _gravity(wall: Any) -> WallSection:
    width, height, lean = +wall.base_width, +wall.height, wall.back_offset
    toe = width - lean - wall.top_width
    fields.refuse(
        wall,
        "base_width",
        toe < -1e-12 * width,
        "allowed: from top_width + back_offset upward; give a wall that leans out over its toe as "
        "an outline",
    )
    behind = Strip(width, -1.0, 0.0, height, 0.0, lean)
    before = Strip(0.0, 1.0, 0.0, height, 0.0, toe)
    whole = Strip(0.0, 1.0, 0.0, height, width, width)
    return WallSection(
        back=((width, 0.0), (width - lean, height)),
        front=((0.0, 0.0), (toe, height)),
        width=width,
        height=height,
        top_to_heel=+lean,
        behind=(behind,),
        before=(before,),
        wall=region((whole, before.off, behind.off)),
        face_foot=+width,
        face_batter=np.degrees(np.arctan(lean / height)),
        face_share=1.0,
    )


def _outline(wall: Wall) -> WallSection:
    refuse = partial(fields.refuse, wall, "points")
    try:
        xy = np.asarray(wall.points, dtype=float)
    except (TypeError, ValueError) as error:
        wanted = "a list of [x, y] in metres is wanted"
        raise InputError("points", wall.points, wanted) from error
    pairs = xy.ndim == 2 and xy.shape[1] == 2 and len(xy) >= 3
    refuse(not pairs or ~np.isfinite(xy), "three or more finite [x, y] in metres are wanted")
    if np.array_equal(xy[0], xy[-1]):
        xy = xy[:-1]
    import shapely  # noqa: PLC0415  (of outlines alone)

    refuse(not shapely.Polygon(xy).is_valid, "the outline crosses or touches itself")
    refuse(
        not shapely.LinearRing(xy).is_ccw,
        "the outline runs clockwise; list it counter-clockwise from the toe at the left "
        "along the base to the heel at the right, so that the fill is on the right",
    )
    size = float(np.ptp(xy))
    xy = xy - xy.min(axis=0)
    low = np.flatnonzero(xy[:, 1] <= 1e-9 * size)
    xy = np.roll(xy, -low[np.argmin(xy[low, 0])], axis=0)
    xy[:, 0] -= xy[0, 0]
    low = np.flatnonzero(xy[:, 1] <= 1e-9 * size)
    heel = low[np.argmax(xy[low, 0])]
    flat = xy[heel, 0] > 1e-9 * size
    refuse(not flat, "the lowest edge must be a level base with some width")
    refuse(heel != len(low) - 1, "the base must be one level edge from toe to heel")
    refuse(
        xy[:, 0].min() < -1e-9 * size,
        "no part of the wall may stand out in front of the toe; a base key has its own fields",
    )
    highest = np.flatnonzero(xy[:, 1] >= xy[:, 1].max() - 1e-9 * size)
    top_back = highest[np.argmax(xy[highest, 0])]
    top_front = highest[np.argmin(xy[highest, 0])]
    several = top_front - top_back != len(highest) - 1
    refuse(several, "the top must be one level edge or one point")
    back: Chain = tuple(map(tuple, xy[heel : top_back + 1]))
    front: Chain = tuple(map(tuple, (xy[0], *xy[: top_front - 1 : -1])))
    foot, batter, share = _face(back)
    width, height = back[0][0], back[-1][1]
    return WallSection(
        back=back,
        front=front,
        width=width,
        height=height,
        top_to_heel=width - back[-1][0],
        behind=strips_on(back, width, -1.0),
        before=strips_on(front),
        wall=region(strips_on((front[0], *back, *reversed(front)))),
        face_foot=foot,
        face_batter=batter,
        face_share=share,
        face_head=np.maximum(foot - height * np.tan(np.radians(batter)) - back[-1][0], 0.0),
    )


def _face(back: Chain) -> tuple[Numeric, Numeric, Numeric]:
    """Foot, batter and share of the tallest straight part of the back; of equals the upper."""
    (x1, y1), (x2, y2) = max(
        reversed(list(pairwise(back))), key=lambda edge: edge[1][1] - edge[0][1]
    )
    rise = y2 - y1
    lean = (x1 - x2) / rise
    return x1 + lean * y1, np.degrees(np.arctan(lean)), rise / (back[-1][1] - y1)
