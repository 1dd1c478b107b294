"""Planar wedge: a block sliding on one plane through the toe of a slope.

Assumptions: plane strain, a metre run of slope with free sides; one soil; the plane passes
through the toe and ends at the ground or in a vertical tension crack; strength is mobilised
along the whole plane at once. Water in the crack pushes with V = ½ γ_w z_w² and lifts with
U = ½ γ_w z_w L, falling to zero at the toe; or U = r_u γ A / cos ψ,
of the soil alone, since r_u is defined on the soil's weight. Below a water line the pressure is
that of still water under it, the soil is saturated, and a crack holds water to it at least; what
stands higher in the crack adds a share of lift that falls to zero at the toe. A pool presses on
the ground it stands against, and the water in the slope is no lower than the pool. A surcharge
counts where it stands on the block. A support force is a load
on the block, not a part of its strength. No moments are considered. A curved envelope is
taken at the mean effective normal stress of the plane (``tangents``).

Limits: a plane that is searched for is close to the critical surface of a steep slope only;
flatter than about 75 deg a curved surface governs and the factor is on the unsafe side. A
negative effective normal force means that the block lifts.

The forces stand in ``forces``, the ground in ``geometry`` and ``ground``, its water in ``water``,
the search in ``search`` and, for many strengths of one slope, ``by_strength``.

Sources: Culmann (1866) and Taylor (1948), Fundamentals of Soil Mechanics, ch. 16, for the
plane through the toe; Hoek & Bray (1974), Rock Slope Engineering, for the tension crack, its
water and the support force; Bishop & Morgenstern (1960), Géotechnique 10(4), for r_u.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import Check, CheckResult, target_notices
from slipmargin.stability.ground.flat import flattened, pieces, shape_of
from slipmargin.stability.ground.newmark import newmark_values
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.planar_wedge import design as planar_design
from slipmargin.stability.planar_wedge.by_strength import SurfacesByStrength, strength_law
from slipmargin.stability.planar_wedge.case import Case, case_of, slope_of, water_of
from slipmargin.stability.planar_wedge.design import PlanarLimits
from slipmargin.stability.planar_wedge.forces import factor_of
from slipmargin.stability.planar_wedge.geometry import Block
from slipmargin.stability.planar_wedge.ground import runs_out
from slipmargin.stability.planar_wedge.inputs import PlanarWedgeInputs
from slipmargin.stability.planar_wedge.limits import refuse_impossible
from slipmargin.stability.planar_wedge.notices import (
    displacement_notices,
    drawn_down_notices,
    planar_notices,
)
from slipmargin.stability.planar_wedge.rotation import rotation_of, with_rotation
from slipmargin.stability.planar_wedge.search import Surface, critical_surface
from slipmargin.stability.planar_wedge.values import PlanarWedgeValues
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.soil import Soil
from slipmargin.stability.strength_law import StrengthLaw
from slipmargin.stability.tangents import LEAST_STRESS, along_tangents, factor_along
from slipmargin.strength import InputError, Numeric, PowerCurve

__all__ = ["PlanarWedge", "PlanarWedgeValues"]

_BY_STRENGTH = 4000  # more strengths than this are worth a curve
_DESIGNED = ("maximum_height", "steepest_face_angle", "required_support_force")
_MEASURED = ("wet_area", "head_area", "crack_head", "pool_area", "pool_end_depth")
_DESIGN = 256  # most slopes for which a search of searches is worth its time


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class PlanarWedge(PlanarWedgeInputs):
    """Inputs of a planar wedge; scalars or arrays that broadcast.

    The ground is a straight slope (height, face and upper slope) or a ``ground_line``.
    ``evaluate`` raises ``InputError`` where a field lies outside its declared limits, where
    fields contradict each other, and where plane and crack cut off no block.

    Examples
    --------
    Culmann's vertical cut without friction falls at a height of 4 c / γ, on a plane at 45 deg
    (1866):

    >>> from slipmargin.stability import PlanarWedge, Soil
    >>> from slipmargin.strength import Strength
    >>> clay = Soil(strength=Strength(cohesion=18.0, friction_angle=0.0), unit_weight=18.0)
    >>> result = PlanarWedge(soil=clay, height=4.0, face_angle=90.0).evaluate()
    >>> round(float(result.factors_of_safety["sliding"]), 2), float(result.values.plane_angle)
    (1.0, 45.0)

    The rotation of the same slope governs it:

    >>> round(float(result.factors_of_safety["rotation"]), 2)
    0.96
    """

    def behind(self, state: str) -> Check:
        """The rotation of the same slope is a check of its own."""
        return rotation_of(self) if state == "rotation" else self

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Factor of safety against sliding on the given or the critical plane, and against
        rotation of the same slope where the plane is searched for.

        The design values take a target of 1 where none is given. They are nan where the plane
        is searched for, since a rotation may govern them (see ``limits``), and in a run of more
        than 256 slopes, since they search many slopes for one.
        """
        curve = self.soil.strength.curve
        if curve is None:
            result = self._along_line(design=True)
        else:
            result = along_tangents(self, curve, PlanarWedge._along_line)
            result = self._without_design(result, curve)
        moved = newmark_values(self, result.values.yield_seismic_coefficient)
        values = dataclasses.replace(result.values, **moved)
        notices = (
            *result.notices,
            *drawn_down_notices(self, values),
            *surcharge_notices(self, result.factors_of_safety),
            *displacement_notices(self, values),
            *rare_values(self),
        )
        result = dataclasses.replace(result, values=values, notices=notices)
        turns = "rotation" in self.limit_states and "rotation" not in leave_out
        return with_rotation(self, result) if turns else result

    def _along_line(self, *, design: bool = False) -> CheckResult:
        """The factor of a straight envelope, with the values of design where they are wanted."""
        shape, case = self._ready()
        size = int(np.prod(shape))
        columns = dict.fromkeys(PlanarWedgeValues.__dataclass_fields__, np.array(np.nan))
        found, converged = _searched(case, size)
        columns |= found
        if design and size <= _DESIGN:
            columns |= self._designed(case, size)
        told = planar_notices(self, case, PlanarWedgeValues(**columns), converged=converged)
        values = PlanarWedgeValues(
            **{name: _shaped(column, shape) for name, column in columns.items()}
        )
        factors = {"sliding": np.broadcast_to(values.factor_of_safety, shape)[()]}
        return CheckResult(
            check=self,
            factors_of_safety=factors,
            values=values,
            notices=(*self.soil.strength.caveats, *target_notices(factors, self.target), *told),
        )

    def _without_design(self, result: CheckResult, curve: PowerCurve) -> CheckResult:
        """The result along a curve, with the factor without its pool. A tangent flatters every
        plane but its own, so that it may not design another slope.
        """
        nothing = np.full(np.shape(result.lowest), np.nan)[()]
        found = dict.fromkeys((*_DESIGNED, "yield_seismic_coefficient", "drawdown_factor"), nothing)
        pooled = np.asarray(self.standing_water_level) > 0.0
        if np.any(pooled):
            drawn = factor_along(self, curve, lambda line: line._on_line(pool_stands=False))
            found["drawdown_factor"] = np.where(pooled, drawn, np.nan)[()]
        return dataclasses.replace(result, values=dataclasses.replace(result.values, **found))

    def factors_alone(self, *, leave_out: Collection[str] = ()) -> dict[str, Numeric]:
        """Factors by limit state without the values of design, which are most of the work.

        Raises
        ------
        InputError
            As ``evaluate``, and where the rotation has no answer.
        """
        found: dict[str, Numeric] = {}
        curve = self.soil.strength.curve
        if "sliding" not in leave_out:
            found["sliding"] = (
                self._on_line()[0]
                if curve is None
                else factor_along(self, curve, PlanarWedge._on_line)
            )
        if "rotation" in self.limit_states and "rotation" not in leave_out:
            found["rotation"] = rotation_of(self).factors_alone()["sliding"]
        return found

    def _on_line(self, *, pool_stands: bool = True) -> tuple[Numeric, Numeric]:
        """Factor and effective normal stress [kPa] of a straight envelope."""
        shape, case = self._ready()
        case = case if pool_stands else case.without_pool()
        columns, _ = _searched(case, int(np.prod(shape)))
        names = ("factor_of_safety", "effective_normal_stress")
        factor, stress = (np.broadcast_to(_shaped(columns[n], shape), shape)[()] for n in names)
        return factor, stress

    def _ready(self) -> tuple[tuple[int, ...], Case]:
        """The fields, held against their limits and against each other."""
        fields.validate(self)
        shape = shape_of(self)
        flat = _flat_or_scalar(shape)
        case = case_of(self, slope_of(self, flat), flat)
        case = dataclasses.replace(case, water=water_of(self, flat))
        refuse_impossible(self, case)
        return shape, case

    def strength_law(self) -> StrengthLaw | None:
        """The factor as a function of c′ and φ′ alone, for one slope with its loads.

        Returns
        -------
        StrengthLaw or None
            Good to a millionth of the factor; None where no curve is, as where the critical
            plane jumps past a crack. ``evaluate`` takes arrays of strengths in any case.

        Raises
        ------
        InputError
            A field other than the strength is an array, or as ``evaluate``.
        """
        _, case = self._ready()
        if not case.has_one_slope:
            raise InputError("planar_wedge", "arrays", "all but the strength must be scalar")
        return strength_law(case)

    def follow(self, found: PlanarWedgeValues) -> PlanarWedgeValues:
        """The values again, with what a search found, or the ground gave, taken from ``found``."""
        slope = slope_of(self, _as_it_is)
        case = case_of(self, slope, _as_it_is)
        angle = found.plane_angle if self.plane_angle is None else +self.plane_angle
        distance = found.tension_crack_distance if self.search_tension_crack else None
        if self.tension_crack_distance is not None:
            distance = +self.tension_crack_distance
        block = Block(**{name: getattr(found, name) for name in Block.__dataclass_fields__})
        if self.ground_line is None and distance is None and runs_out(slope, angle):
            block = dataclasses.replace(block, crest_distance=slope.crest_x)
        elif self.ground_line is None:
            crack_x = None if distance is None else slope.crest_x + distance
            cut_off = slope.block(np.tan(np.radians(angle)), crack_x)
            measured = {name: getattr(found, name) for name in _MEASURED}
            block = dataclasses.replace(cut_off, **measured)
        values = dataclasses.replace(found, **_values_on(case, angle, distance, block))
        curve = self.soil.strength.curve
        wet = self.water_line is not None or float(self.standing_water_level) > 0.0
        if self.ground_line is not None or curve is not None or wet:
            values = dataclasses.replace(values, deepest_crack=found.deepest_crack)
        if case.is_searched or curve is not None:
            at_yield = found.yield_seismic_coefficient
            values = dataclasses.replace(values, yield_seismic_coefficient=at_yield)
        moved = newmark_values(self, values.yield_seismic_coefficient)
        values = dataclasses.replace(values, **moved)
        if curve is None:
            return values
        stress = values.effective_normal_stress
        along = values.base_length * curve.shear_strength(stress)
        held = np.where(stress > LEAST_STRESS, along, found.shear_strength_force)
        factor = factor_of(held, values.driving_force)
        return dataclasses.replace(values, shear_strength_force=held, factor_of_safety=factor)

    @classmethod
    def example(cls) -> PlanarWedge:
        """A wedge on which every term acts."""
        return cls(
            soil=Soil.example(),
            height=7.0,
            face_angle=60.0,
            upper_slope_angle=5.0,
            plane_angle=38.0,
            tension_crack_distance=1.5,
            tension_crack_water_depth=0.5,
            surcharge=5.0,
            horizontal_seismic_coefficient=0.05,
            support_force=20.0,
            support_angle=10.0,
            target=1.3,
        )

    @classmethod
    def further_examples(cls) -> tuple[PlanarWedge, ...]:
        """A plane that daylights, with pore pressure; a crack that is searched for."""
        wedge = dataclasses.replace(
            cls.example(), tension_crack_distance=None, tension_crack_water_depth=0.0
        )
        return (
            dataclasses.replace(wedge, pore_pressure_ratio=0.1),
            dataclasses.replace(wedge, search_tension_crack=True, tension_crack_water_depth=0.5),
        )

    def limits(self) -> PlanarLimits:
        """Greatest height, steepest face and least support for the target (1 by default).

        Of planes alone: upper bounds of height and face, and a lower one of the support, where
        the plane is searched for and the rotation of the same slope governs. nan along a curved
        envelope, where each slope would need a line of its own.

        Raises
        ------
        InputError
            As ``evaluate``.
        """
        shape, case = self._ready()
        if self.soil.strength.curve is not None:
            return PlanarLimits(**dict.fromkeys(_DESIGNED, np.full(shape, np.nan)[()]))
        found = {
            name: getattr(planar_design, name)(case, int(np.prod(shape))) for name in _DESIGNED
        }
        return PlanarLimits(**{name: _shaped(limit, shape) for name, limit in found.items()})

    def _designed(self, case: Case, size: int) -> dict[str, NDArray[np.float64]]:
        """What a search of its own gives: yield coefficient, factor without the pool, and the
        design of a plane that is given.
        """
        found: dict[str, NDArray[np.float64]] = {}
        if case.is_searched:
            shaken = dataclasses.replace(case, at_yield=True)
            found["yield_seismic_coefficient"] = critical_surface(shaken, size).factor
        pooled = np.greater(case.loads.pool_level, 0.0)
        if np.any(pooled):
            gone = critical_surface(case.without_pool(), size).factor
            found["drawdown_factor"] = np.where(pooled, gone, np.nan)
        if case.plane_angle is not None:
            wanted = _DESIGNED if self.target is not None else _DESIGNED[:-1]
            found |= {name: getattr(planar_design, name)(case, size) for name in wanted}
        return found


def _searched(case: Case, size: int) -> tuple[dict[str, NDArray[np.float64]], bool]:
    """Every value on the plane that governs each slope, and whether each search came home."""
    find = critical_surface
    if size > _BY_STRENGTH and case.is_searched and case.has_one_slope:
        find = SurfacesByStrength.of(case).at
    columns: dict[str, NDArray[np.float64]] = {}
    converged = True
    for part in pieces(size):
        own = case.taken(part)
        surface = find(own, part.stop - part.start)
        converged = converged and bool(np.all(surface.converged))
        if case.search_crack and np.any(np.isnan(surface.crack_x)):
            raise InputError(
                "search_tension_crack",
                True,
                "everywhere on the ground line a crack down to the plane would be deeper than "
                f"{float(np.min(case.deepest_crack())):.2f} m, what the strength holds open or "
                "half the height: give more of the ground behind the crest, or a "
                "tension_crack_distance",
            )
        for name, value in _on_surface(own, surface).items():
            array = np.asarray(value, dtype=float)
            if name not in columns:
                columns[name] = np.empty(size if array.ndim else ())
            columns[name][part if array.ndim else ...] = array
    if case.is_searched:  # that of the plane with the lowest factor is not the lowest
        del columns["yield_seismic_coefficient"]
    return columns, converged


def _on_surface(case: Case, surface: Surface) -> dict[str, Numeric]:
    angle = surface.plane_angle if case.plane_angle is None else case.plane_angle
    distance = case.crack_distance
    if case.search_crack:
        distance = surface.crack_x - case.slope.crest_x
    return _values_on(case, angle, distance, case.block(angle, surface.crack_x))


def _values_on(
    case: Case, angle: Numeric, distance: Numeric | None, block: Block
) -> dict[str, Numeric]:
    """Values of a block on a plane [deg], its crack at a distance behind the crest [m]."""
    forces = case.forces_on(block, angle)
    found: dict[str, Numeric] = {
        "plane_angle": angle,
        "deepest_crack": case.deepest_crack(block.crack_head) if case.search_crack else np.nan,
        "tension_crack_distance": np.nan if distance is None else distance,
    }
    for record in (block, forces):
        found |= {name: getattr(record, name) for name in type(record).__dataclass_fields__}
    return found


def _shaped(column: NDArray[np.float64], shape: tuple[int, ...]) -> Numeric:
    return (column.reshape(shape) if column.ndim else column)[()]


def _flat_or_scalar(shape: tuple[int, ...]) -> Callable[[Numeric], Numeric]:
    flat = flattened(shape)

    def laid(value: Numeric) -> Numeric:
        rows = flat(value)
        return rows if rows.size > 1 else float(rows[0])

    return laid


def _as_it_is(value: Numeric) -> Numeric:
    return value
