"""Overall stability of a retaining wall: a rotation of the ground that takes the wall along.

Approximate, and for a first look: one family of surfaces, log-spirals that pass below the
wall, leave the ground at its toe or in front of it and come up behind its heel
(:mod:`stability.retaining_wall.overall_mechanism`). A slope of the backfill alone would say
nothing: without cohesion a steep face has no stability of its own, and it is the wall that
holds it.

Strength reduction: c′ and tan φ′ of both soils are divided by the same F, and F is the
smallest for which some rotation is in balance. As an upper bound it lies above the exact
factor of the model.

Assumptions, beside those of the check: the level of the underside parts the two soils, with
backfill behind the heel and above it without end and foundation soil below and in front;
the ground in front is level at its embedment and stays; the wall is rigid and does not
break. Water stands level behind, falls straight below the base, and stands in front at its
given level, else at that behind but not above the ground. Loads stand on the backfill behind
the top of the wall, a line as a strip of a fiftieth of the height, and count where they drive.

Limits: no layers, no firm ground, no water flowing upward in front, no surface through the
wall. Sliding along the base is a check of its own, and may govern.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import Check, CheckResult, target_notices
from slipmargin.stability.design.customary_targets import CUSTOMARY_TARGETS, below_customary
from slipmargin.stability.fields import given
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.overall_mechanism import WallInGround
from slipmargin.stability.retaining_wall.overall_search import REACH, rotation_at, worst_rotation
from slipmargin.stability.retaining_wall.section import WallSection
from slipmargin.strength import InputError, Notice, Numeric, distinct
from slipmargin.strength.traced import some

__all__ = ["MOST_WALLS", "OverallStability", "OverallStabilityValues", "wall_in_ground"]

Float = NDArray[np.float64]

MOST_WALLS = 64
"""Most walls of one call: each is a search of up to a second or two."""

_LOWEST, _HIGHEST = 0.05, 30.0
_AT_ONCE = 16
_WORST = 1e3
_LINE = 0.02  # width of a line load, over the height of the wall
_STEPS, _CLOSE, _ASIDE = 8, 1e-5, (1e-6, -1e-6)


_SEARCH = "Found by a search: the rotation with the lowest factor."
_INTEGRAL = "Integrated along the spiral."


@dataclass(frozen=True, slots=True, kw_only=True)
class OverallStabilityValues:
    """Factor of safety of the critical rotation, and what it is.

    Positions are from the toe, at the level of the underside. Factors from 30 upward are given
    as 30, below 0.05 as 0.
    """

    factor_of_safety: Numeric = given(
        "", "F", "Factor of safety of overall stability.", origin=_SEARCH
    )
    pole_x: Numeric = given("m", "x_P", "Pole of the spirals.", origin=_SEARCH)
    pole_y: Numeric = given("m", "y_P", "Pole of the spirals.", origin=_SEARCH)
    exit_x: Numeric = given("m", "x_A", "Lower end of the slip surface.", origin=_SEARCH)
    exit_y: Numeric = given("m", "y_A", "Lower end of the slip surface.", origin=_SEARCH)
    heel_x: Numeric = given(
        "m", "x_b", "Slip surface at the level of the underside, behind.", origin=_SEARCH
    )
    entry_x: Numeric = given("m", "x_E", "Upper end of the slip surface.", origin=_SEARCH)
    entry_y: Numeric = given("m", "y_E", "Upper end of the slip surface.", origin=_SEARCH)
    opening_angle: Numeric = given(
        "deg", "Δ_2", "Angle at the pole in the foundation soil.", origin=_SEARCH
    )
    opening_angle_behind: Numeric = given(
        "deg", "Δ_1", "Angle at the pole in the backfill.", origin=_SEARCH
    )
    driving_moment: Numeric = given(
        "kN·m/m",
        "M_d",
        "Moment about the pole, less the friction of both soils.",
        origin="Integrated over the mass and along the spirals.",
    )
    resisting_area: Numeric = given(
        "m²", "A_2", "∫ r² dα in the foundation soil.", origin=_INTEGRAL
    )
    resisting_area_behind: Numeric = given(
        "m²", "A_1", "∫ r² dα in the backfill.", origin=_INTEGRAL
    )
    residual: Numeric = given(
        "kPa",
        "Δc",
        "What is left of the balance, as cohesion along the surface.",
        origin="Left by the search.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OverallStability(Check):
    """The ground around a wall: a search over rotations that take the wall along.

    ``evaluate`` raises ``InputError`` where a field of the wall lies outside its declared
    limits, and for more walls than ``MOST_WALLS``.

    Parameters
    ----------
    wall
        Scalars or arrays that broadcast.
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("overall",)

    wall: RetainingWallInputs

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:  # noqa: ARG002
        """Factor of safety against overall instability."""
        wall = self.wall
        fields.validate(wall)
        falls = wall.ground_fall_in_front > 0.0
        level = "overall stability is known for level ground in front alone"
        fields.refuse(wall, "ground_fall_in_front", falls, level)
        section = wall.section()
        shape = _shape(wall, section)
        if (count := int(np.prod(shape))) > MOST_WALLS:
            raise InputError("walls", count, f"allowed: up to {MOST_WALLS} in one call")
        # a load counts where it drives alone, so that it lowers the factor or leaves it
        found = _critical(wall, section, shape)
        values = {name: value.reshape(shape)[()] for name, value in found.items()}
        return CheckResult(
            factors_of_safety={"overall": values["factor_of_safety"]},
            values=OverallStabilityValues(**values),
            notices=_notices(wall, section, values),
        )


def _shape(wall: RetainingWallInputs, section: WallSection) -> tuple[int, ...]:
    parts: list[Any] = [section.wall.area, section.key.area, section.width, section.height]
    parts += [wall.wall.unit_weight]
    for one in (wall, *wall.loads):
        for name, declaration, _ in fields.of(one):
            if isinstance(declaration, fields.Amount):
                parts.append(getattr(one, name))
    for soil in fields.soils(wall):
        parts += [soil.strength.cohesion, soil.strength.friction_angle]
        parts += [soil.unit_weight, soil.weight_below_water]
    return np.broadcast_shapes(*(np.shape(part) for part in parts if part is not None))


def wall_in_ground(
    wall: RetainingWallInputs, section: WallSection, shape: tuple[int, ...]
) -> WallInGround:
    """The walls of a check as their overall stability sees them, flattened from a shape."""

    def column(value: Any) -> Any:
        if isinstance(value, tuple):
            return tuple(map(column, value))
        return np.broadcast_to(value, shape).reshape(-1, 1)

    fill, ground = soils = (wall.backfill, wall.foundation)
    height = np.asarray(section.height)
    depth = np.asarray(wall.embedment, dtype=float)
    behind: Any = -np.inf
    before: Any = -np.inf
    if wall.water_table_depth is not None:
        behind = height - wall.water_table_depth
        level = behind if wall.water_level_in_front is None else wall.water_level_in_front
        # water standing on the ground in front would help by its weight: left out
        before = np.minimum(level, depth)
    heel = section.heel_soil(wall.backfill_slope_angle)
    wet = section.heel_soil(wall.backfill_slope_angle, below=np.maximum(behind, 0.0))
    extra = fill.weight_below_water - fill.unit_weight
    toe = section.in_front(depth)
    replaced = np.where(behind > 0.0, ground.weight_below_water, ground.unit_weight)
    weights = (
        (wall.wall.unit_weight * section.wall.area, section.wall),
        ((wall.wall.unit_weight - replaced) * section.key.area, section.key),
        (fill.unit_weight * heel.area, heel),
        (extra * wet.area, wet),
    )
    block = sum(weight for weight, _ in weights)
    centre = sum(weight * (place.x + 1j * place.y) for weight, place in weights) / block
    corners = [x + 1j * np.asarray(y) for x, y in (*section.front, *section.back)]
    if wall.wall.key_depth is not None:
        left = np.asarray(wall.wall.key_position, dtype=float)
        right = left + np.asarray(wall.wall.key_width)
        corners += [side - 1j * np.asarray(wall.wall.key_depth) for side in (left, right)]
    return WallInGround(
        width=column(section.width),
        height=column(height),
        embedment=column(depth),
        top=column(section.back[-1][0]),
        rise=column(np.tan(np.radians(wall.backfill_slope_angle))),
        corners=np.stack([column(corner) for corner in corners], axis=-1),
        block=column(block),
        block_centre=column(centre),
        toe_soil=column(ground.unit_weight * toe.area),
        toe_centre=column(toe.x + 1j * toe.y),
        unit_weights=column(tuple(one.unit_weight for one in soils)),
        wet_unit_weights=column(tuple(one.weight_below_water for one in soils)),
        behind=column(behind),
        before=column(before),
        water_unit_weight=column(wall.water_unit_weight),
        strips=column(tuple(_strips(wall, section))),
        seismic_coefficient=column(wall.horizontal_seismic_coefficient),
        tangents=column(tuple(one.strength.tan_friction_angle for one in soils)),
        cohesions=column(tuple(one.strength.cohesion for one in soils)),
    )


def _strips(
    wall: RetainingWallInputs, section: WallSection
) -> Iterator[tuple[Numeric, Numeric, Numeric]]:
    """Near and far edge from the toe [m] and pressure [kPa] of each load on the backfill."""
    top = section.back[-1][0]
    if some(wall.surcharge > 0.0):
        yield top, np.inf, wall.surcharge
    for strip in wall.strip_loads:
        near = top + strip.distance
        yield near, near + strip.width, strip.pressure
    for line in wall.line_loads:
        width = _LINE * section.height
        near = top + np.maximum(line.distance - width / 2.0, 0.0)
        yield near, near + width, line.force / width


def _critical(
    wall: RetainingWallInputs, section: WallSection, shape: tuple[int, ...]
) -> dict[str, NDArray[np.float64]]:
    """The factor of each wall by root of the worst rotation's missing cohesion, and that
    rotation at the root.

    Steps of Newton's method lead there: as the worst rotation is a maximum, the rate of what
    it lacks is that with the rotation held. The first steps look near the last rotation alone;
    a root counts once a search everywhere gives it again. Where none does, the root is looked
    for between bounds, with a search everywhere at each trial.
    """
    ground = wall_in_ground(wall, section, shape)

    def posed(log_factor: Float, rows: NDArray[np.intp]) -> WallInGround:
        return ground.take(rows).reduced(np.exp(log_factor))

    def search(
        log_factor: Float, rows: NDArray[np.intp], near: Float | None = None, *, rough: bool = False
    ) -> Float:
        parts = []
        for first in range(0, rows.size, _AT_ONCE):
            part = slice(first, first + _AT_ONCE)
            start = None if near is None else near[part]
            parts.append(worst_rotation(posed(log_factor[part], rows[part]), start, rough=rough))
        return np.concatenate(parts)

    def lacks(log_factor: Float, rows: NDArray[np.intp], unknowns: Float) -> Float:
        return rotation_at(posed(log_factor, rows), unknowns).missing_cohesion[:, 0]

    def step(log_factor: Float, rows: NDArray[np.intp], unknowns: Float) -> Float:
        """To where the rotation lacks nothing; nan where that cannot be told."""
        here = lacks(log_factor, rows, unknowns)
        with np.errstate(all="ignore"):
            over, under = ((lacks(log_factor + d, rows, unknowns) - here) / d for d in _ASIDE)
            # it leaps to one side where a rotation touches a corner of the wall
            rate = np.where(np.abs(under) < np.abs(over), under, over)
            ahead = np.where(rate > 0.0, -here / rate, np.nan)
        inside = (log_factor + ahead > least) & (log_factor + ahead < most)
        return np.where(inside, ahead, np.nan)

    def gap(log_factor: Float, rows: NDArray[np.intp]) -> Float:
        return np.maximum(lacks(log_factor, rows, search(log_factor, rows)), -_WORST)

    least, most = float(np.log(_LOWEST)), float(np.log(_HIGHEST))
    rows = np.arange(ground.width.shape[0])
    log_factor, unknowns = _nearby(search, step, rows)
    left = rows
    for _ in range(_STEPS):
        unknowns[left] = search(log_factor[left], left)
        ahead = step(log_factor[left], left, unknowns[left])
        log_factor[left] += np.nan_to_num(ahead)
        left = left[~(np.abs(ahead) < _CLOSE)]
        if not left.size:
            break
    factor = np.exp(log_factor)
    if left.size:
        from scipy.optimize.elementwise import find_root  # noqa: PLC0415  (rarely needed)

        low, high = np.full(left.size, least), np.full(left.size, most)
        at_low, at_high = gap(low, left), gap(high, left)
        tolerances = {"xrtol": 0.0, "xatol": 1e-7}
        root = find_root(gap, (low, high), args=(left,), tolerances=tolerances).x
        log_factor[left] = np.where(at_high <= 0.0, high, np.where(at_low >= 0.0, low, root))
        unknowns[left] = search(log_factor[left], left)
        factor[left] = np.where(at_low >= 0.0, 0.0, np.exp(log_factor[left]))
    best = rotation_at(posed(log_factor, rows), unknowns)
    return {"factor_of_safety": factor} | _told(best)


def _nearby(
    search: Callable[..., Float], step: Callable[..., Float], rows: NDArray[np.intp]
) -> tuple[Float, Float]:
    """A first root of each wall, looked for near the last rotation alone, and its unknowns."""
    log_factor = np.zeros(rows.size)
    unknowns = search(log_factor, rows, rough=True)
    left = rows
    for _ in range(_STEPS):  # walls do not know of each other: each rests once it is close
        ahead = step(log_factor[left], left, unknowns[left])
        far = np.abs(ahead) >= _CLOSE
        left = left[far]
        if not left.size:
            break
        log_factor[left] += ahead[far]
        unknowns[left] = search(log_factor[left], left, unknowns[left])
    return log_factor, unknowns


def _told(best: Any) -> dict[str, NDArray[np.float64]]:
    """What is told of the rotation of each wall."""
    flat = {
        "pole_x": best.pole.real,
        "pole_y": best.pole.imag,
        "exit_x": best.exit.real,
        "exit_y": best.exit.imag,
        "heel_x": best.heel.real,
        "entry_x": best.entry.real,
        "entry_y": best.entry.imag,
        "opening_angle": np.degrees(best.opening),
        "opening_angle_behind": np.degrees(best.opening_behind),
        "driving_moment": best.driving,
        "resisting_area": best.resisting[0],
        "resisting_area_behind": best.resisting[1],
        "residual": best.missing_cohesion,
    }
    return {name: value[:, 0] for name, value in flat.items()}


def _notices(
    wall: RetainingWallInputs, section: WallSection, values: dict[str, Any]
) -> tuple[Notice, ...]:
    factor = values["factor_of_safety"]
    lowest, least = float(np.min(factor)), CUSTOMARY_TARGETS["slope"]
    notices = [
        *wall.backfill.strength.caveats,
        *wall.foundation.strength.caveats,
        *target_notices({"overall": factor}, None),
        Notice.caution(
            "overall-stability-approximate",
            "Overall stability is approximate: a rotation on log-spirals below the wall, "
            "backfill above the level of its underside and foundation soil below, no layers. "
            "Slices gave up to a twentieth less in trials, and up to a sixth less below φ′ of 10 "
            "deg. Soft or layered ground, ground that falls away in front, or flow upward in "
            "front call for an analysis of their own.",
        ),
    ]
    if some(wall.embedment > 0.0):
        notices.append(
            Notice.caution(
                "ground-in-front-counted",
                "The ground in front of the wall is counted on up to its level; overall "
                "stability falls where it is dug away.",
            )
        )
    if some(wall.backfill_slope_angle > 0.0):
        notices.append(
            Notice.info(
                "slope-above-not-covered",
                "The slope of the backfill by itself is not looked at here: check it as a slope.",
            )
        )
    furthest = np.maximum(-values["exit_x"], values["heel_x"] - section.width)
    if some(furthest > 0.9 * REACH * section.height):
        notices.append(
            Notice.stop(
                "overall-stability-unbounded",
                "No surface within reach is the worst: ever larger ones have a lower factor, and "
                "the ground as a whole does not hold its slope or its shaking.",
            )
        )
    if lowest < float(np.max(least.value)):
        notices.append(below_customary("overall", lowest, least))
    return distinct(notices)
