"""Circles through layered ground as slices: weights, loads and pore pressure of each.

A circle comes out of the ground at its lower, left end and ends in the ground, or at the foot
of a vertical tension crack, on its right. Where it would pass below firm ground it follows
the surface of it. The mass is cut at equal angles about the centre, and again where its base
passes from one layer into the next, at the corners of the ground and where the circle meets
firm ground, so that each base lies in one layer. Bases are chords.

Per slice, for a metre run: vertical force downward V (soil, surcharge, pool, support), force
into the slope H, moment M of both about the middle of the base (counter-clockwise), uplift U
of pore pressure on the base, base length l at an angle α, positive where it rises into the
slope. Shaking acts at the centroid of the soil column, and on the surcharge.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.points import Line
from slipmargin.stability.ground.surcharge_strip import loaded_between
from slipmargin.stability.ground.water_line import SlopeWater
from slipmargin.stability.layered_slope.section import Float, Section, each

__all__ = ["Circles", "Slices", "arc_crossings", "slices_of"]


@dataclass(frozen=True, slots=True)
class Circles:
    """Slip circles, arrays of shape (samples or 1, circles).

    Centre ``x``, ``y`` and ``radius`` [m]; ``start`` and ``end`` are the angles of the lower
    and the upper end [rad], from straight down, positive into the slope, which is also the
    slope of the surface there; ``crack`` is the depth of the tension crack at the upper end
    [m].
    """

    x: Float
    y: Float
    radius: Float
    start: Float
    end: Float
    crack: Float

    def at(self, rows: NDArray[np.intp] | slice) -> Circles:
        """Those of some samples."""
        return each(self, lambda one: one[rows])

    @property
    def ends(self) -> tuple[Float, Float, Float, Float]:
        """X and y of the lower, then of the upper end of the arc [m]."""
        return (
            self.x + self.radius * np.sin(self.start),
            self.y - self.radius * np.cos(self.start),
            self.x + self.radius * np.sin(self.end),
            self.y - self.radius * np.cos(self.end),
        )


@dataclass(frozen=True, slots=True)
class Slices:
    """Slices of circles, arrays of shape (samples or 1, circles, slices).

    ``edge``, ``foot`` and ``ground`` are the sides of the slices, one more than slices: x, height
    of slip surface and of ground [m]. ``sin``, ``cos`` and ``length`` [m] are those of the base;
    ``vertical``, ``horizontal``, ``moment`` and ``uplift`` are V, H [kN/m], M [kN·m/m] and U
    [kN/m], and ``soil_weight`` is that of the soil alone [kN/m]. The base lies in ``layer``, its
    middle ``across`` and ``up`` from the centre of the circle, over its radius [-].

    Of shape (samples or 1, circles) are the ``radius``, the depth of ``crack_water`` over the foot
    of the crack and the greatest ``depth`` of the slip surface below ground [m]; ``valid``: the
    surface stays in the ground.
    """

    edge: Float
    foot: Float
    ground: Float
    sin: Float
    cos: Float
    length: Float
    vertical: Float
    horizontal: Float
    moment: Float
    uplift: Float
    soil_weight: Float
    layer: NDArray[np.int8]
    across: Float
    up: Float
    radius: Float
    crack_water: Float
    depth: Float
    valid: NDArray[np.bool_]

    @property
    def pressing(self) -> Float:
        """What presses on each base without its neighbours, uplift taken off [kN/m]."""
        return self.vertical * self.cos + self.horizontal * self.sin - self.uplift

    @property
    def driving(self) -> Float:
        """D, what drives each slice along its base [kN/m]."""
        return self.vertical * self.sin - self.horizontal * self.cos

    @property
    def arms(self) -> tuple[Float, Float]:
        """Arms of the shear and of the normal force on each base over the radius [-]."""
        return (
            self.across * self.sin - self.up * self.cos,
            self.across * self.cos + self.up * self.sin,
        )


def _third(amount: Float) -> Float:
    return amount[..., None, None]


def arc_crossings(circles: Circles, line: Line) -> list[Float]:
    """Places at which the arcs cross the pieces of a line, nan where they do not."""
    found = []
    far = 1e3 * float(np.max(np.abs(circles.radius))) + float(np.max(np.abs(line.x)))
    xs = np.concatenate(([line.x[0] - far], line.x, [line.x[-1] + far]))
    ys = np.concatenate(([line.y[0]], line.y, [line.y[-1]]))
    for x0, y0, x1, y1 in zip(xs[:-1], ys[:-1], xs[1:], ys[1:], strict=True):
        if x1 <= x0:
            continue
        slope = (y1 - y0) / (x1 - x0)
        # (x - xc)² + (a + slope (x - xc))² = R², a the height of the line over the centre
        over = y0 + slope * (circles.x - x0) - circles.y
        square = circles.radius**2 * (1.0 + slope**2) - over**2
        root = np.sqrt(np.maximum(square, 0.0))
        for sign in (-1.0, 1.0):
            place = circles.x + (-slope * over + sign * root) / (1.0 + slope**2)
            found.append(np.where((square > 0.0) & (place >= x0) & (place <= x1), place, np.nan))
    return found


def _edges(section: Section, circles: Circles, firm: Float, count: int) -> Float:
    """Sides of the slices, sorted; where a circle needs fewer than another, some lie on its lower
    end.
    """
    share = np.linspace(0.0, 1.0, count + 1)
    angle = circles.start[..., None] + (circles.end - circles.start)[..., None] * share
    even = circles.x[..., None] + circles.radius[..., None] * np.sin(angle)
    low, high = even[..., 0], even[..., -1]
    cuts = [np.broadcast_to(x, low.shape) for x in section.ground.x]
    for top in section.tops:
        cuts += arc_crossings(circles, top)
    if np.any(np.isfinite(firm)):
        square = circles.radius**2 - (firm - circles.y) ** 2
        half = np.sqrt(np.where(square > 0.0, square, np.nan))
        cuts += [circles.x - half, circles.x + half]
    # the slope of a slice of almost no width would be that of rounding
    least = 1e-6 * section.size
    inner = [np.where((cut > low + least) & (cut < high - least), cut, low) for cut in cuts]
    edge = np.sort(np.concatenate((even, np.stack(inner, axis=-1)), axis=-1), axis=-1)
    spare = int(np.min(np.count_nonzero(edge == low[..., None], axis=-1))) - 1
    return edge[..., spare:]


def _submerged(pool: Float, left: Float, right: Float) -> Float:
    """Mean depth of still water over a straight piece of ground between two heights."""
    one, other = pool - left, pool - right
    higher, lower = np.maximum(one, other), np.minimum(one, other)
    crossed = (higher > 0.0) & (lower < 0.0)
    part = higher**2 / np.where(crossed, 2.0 * (higher - lower), 1.0)
    mean = np.maximum((one + other) / 2.0, 0.0)
    return np.where(crossed, part, mean)


def slices_of(section: Section, circles: Circles, count: int) -> Slices:
    """Cut circles of shape (samples or 1, circles) into ``count`` slices at equal angles; those
    that corners and layers add come on top.
    """
    amounts = section.amounts
    firm = amounts.firm[:, None]
    shape = np.broadcast_shapes(circles.x.shape, firm.shape if firm.size > 1 else (1, 1))
    circles = each(circles, lambda one: np.broadcast_to(one, shape))
    edge = _edges(section, circles, firm, count)
    centre_x, centre_y, radius = (one[..., None] for one in (circles.x, circles.y, circles.radius))
    arc = centre_y - np.sqrt(np.maximum(radius**2 - (edge - centre_x) ** 2, 0.0))
    foot = np.maximum(arc, firm[..., None])
    ground = section.ground.level(edge)
    width, rise = np.diff(edge), np.diff(foot)
    length = np.sqrt(width**2 + rise**2)
    real = length > 0.0
    held = np.where(real, length, 1.0)
    cos, sin = np.where(real, width / held, 1.0), np.where(real, rise / held, 0.0)
    middle = (edge[..., 1:] + edge[..., :-1]) / 2.0
    base = (foot[..., 1:] + foot[..., :-1]) / 2.0
    surface = (ground[..., 1:] + ground[..., :-1]) / 2.0

    tops = [top.level(middle) for top in section.tops]
    slack = 1e-9 * section.size
    layer = np.zeros(middle.shape, dtype=np.int8)
    for index, top in enumerate(tops, start=1):
        layer[top >= base - slack] = index
    water = _water_level(section, middle, surface)
    soil, lever = _columns(section, tops, base, surface, water)
    soil, lever = soil * width, lever * width

    deep = _crack_water(section, circles.crack, edge, ground)
    vertical, horizontal, moment = _forces(
        section, circles.crack, deep, edge, ground, foot, soil, lever
    )
    gamma_w = _third(amounts.water_unit_weight)
    if water is None:
        uplift = _third(amounts.pore_pressure_ratio) * soil / np.where(real, width, 1.0) * length
    else:
        uplift = gamma_w * np.maximum(water - base, 0.0) * length
    inside = ground - foot
    return Slices(
        edge=edge,
        foot=foot,
        ground=ground,
        sin=sin,
        cos=cos,
        length=length,
        vertical=vertical,
        horizontal=horizontal,
        moment=moment,
        uplift=uplift,
        soil_weight=soil,
        layer=layer,
        across=(middle - centre_x) / radius,
        up=(base - centre_y) / radius,
        radius=circles.radius,
        crack_water=deep,
        depth=np.max(inside, axis=-1),
        valid=np.min(inside, axis=-1) > -1e-6 * section.size,
    )


def _forces(
    section: Section,
    crack: Float,
    deep: Float,
    edge: Float,
    ground: Float,
    foot: Float,
    soil: Float,
    lever: Float,
) -> tuple[Float, Float, Float]:
    """V, H and M of the slices, from the crack and the water in it, their sides, and the weight of
    their soil and its moment arm times weight above the base.
    """
    amounts = section.amounts
    width = np.diff(edge)
    middle = (edge[..., 1:] + edge[..., :-1]) / 2.0
    base = (foot[..., 1:] + foot[..., :-1]) / 2.0
    above = (ground[..., 1:] + ground[..., :-1]) / 2.0 - base
    vertical, k_h = soil, _third(amounts.seismic_coefficient)
    moment = k_h * lever
    if np.any(amounts.surcharge):
        drawn = _third(amounts.surcharge) * loaded_between(
            _third(amounts.load_start), _third(amounts.load_end), edge[..., :-1], edge[..., 1:]
        )
        vertical, moment = vertical + drawn, moment + k_h * drawn * above
    horizontal = -k_h * vertical
    if section.pool_stands and np.any(amounts.pool > np.min(section.ground.y)):
        depth = _submerged(_third(amounts.pool), ground[..., :-1], ground[..., 1:])
        pressure = _third(amounts.water_unit_weight) * depth
        pool_in = pressure * np.diff(ground)
        vertical, horizontal = vertical + pressure * width, horizontal + pool_in
        moment = moment - pool_in * above
    if np.any(amounts.support_along) or np.any(amounts.support_up):
        up, along = _third(amounts.support_up), _third(amounts.support_along)
        support_x = _third(amounts.support_x)
        holds = (edge[..., :-1] <= support_x) & (support_x < edge[..., 1:])
        vertical, horizontal = vertical - holds * up, horizontal + holds * along
        arm_x, arm_y = support_x - middle, _third(amounts.support_y) - base
        moment = moment + holds * (arm_x * up - arm_y * along)
    held = np.minimum(deep, crack)
    weight = amounts.water_unit_weight[:, None]
    push = weight * (deep - held / 2.0) * held
    if np.any(push > 0.0):
        last = np.zeros(edge.shape[-1] - 1)
        last[-1] = 1.0
        horizontal = horizontal - push[..., None] * last
        turning = weight * (deep / 2.0 - held / 3.0) * held**2
        turning = turning + push * (foot[..., -1] - base[..., -1])
        moment = moment + turning[..., None] * last
    shape = np.broadcast_shapes(moment.shape, vertical.shape)
    return vertical, horizontal, np.broadcast_to(moment, shape)


def _crack_water(section: Section, crack: Float, edge: Float, ground: Float) -> Float:
    """Water in cracks of a depth: as given, or to the brim, and no lower than the water in the
    slope; a pool may stand above the brim.
    """
    given = np.minimum(section.amounts.crack_water[:, None], crack)
    top = ground[..., -1:]
    level = _water_level(section, edge[..., -1:], top)
    if level is None:
        return given
    return np.where(crack > 0.0, np.maximum(given, (level - top)[..., 0] + crack), 0.0)


def _water_level(section: Section, x: Float, surface: Float) -> Float | None:
    """Level below which the ground is saturated, and from which pore pressure is counted.

    A pool drawn down leaves it at the ground it covered: its own weight is gone from the pressure
    in the ground too.
    """
    amounts = section.amounts
    if section.water is None and not np.any(amounts.pool > np.min(section.ground.y)):
        return None
    water = SlopeWater(section.water, _third(amounts.water_rise), _third(amounts.pool))
    level = water.in_slope(x, surface)
    return level if section.pool_stands else np.minimum(level, surface)


def _columns(
    section: Section, tops: list[Float], base: Float, surface: Float, water: Float | None
) -> tuple[Float, Float]:
    """Weight of soil over unit plan area, and its moment arm times weight above the base.

    Each boundary counts with the step of the unit weight at it: a soil from a height h down to
    the base weighs γ h, at an arm of h / 2.
    """
    amounts = section.amounts
    # the boundary of all layers from one down is the highest of their tops
    bounds = [surface]
    for index, top in enumerate(tops):
        highest = functools.reduce(np.maximum, tops[index + 1 :], top)
        bounds.append(np.minimum(highest, surface))
    dry = np.diff(amounts.unit_weight, axis=0, prepend=0.0)
    steps = [(_third(step), bound) for step, bound in zip(dry, bounds, strict=True)]
    if water is not None:
        wetter = amounts.saturated_unit_weight - amounts.unit_weight
        for step, bound in zip(np.diff(wetter, axis=0, prepend=0.0), bounds, strict=True):
            steps.append((_third(step), np.minimum(bound, water)))
    weight: Float = np.zeros(())
    lever: Float = np.zeros(())
    shaken = np.any(amounts.seismic_coefficient)
    for step, bound in steps:
        height = np.maximum(bound - base, 0.0)
        part = step * height
        weight = weight + part
        if shaken:
            lever = lever + part * height / 2.0
    return weight, lever
