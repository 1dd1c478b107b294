"""Rotational slide: a rigid mass on a log-spiral through the toe, below it, or out of the face.

What it is: a kinematic upper bound that also satisfies moment equilibrium, for one
homogeneous soil. Strength reduction: c′ and tan φ′ are divided by the same F, and F is the
smallest for which some spiral is in equilibrium. ``log_spiral`` holds the moment balance,
``critical_spiral`` the search.

How far off: an upper bound lies above the exact factor. For a vertical cut with φ′ = 0 it
gives γH/c = 3.83 where the exact value is 3.7765 (Martin 2011), 1.4 % on the unsafe side;
flatter slopes and higher friction angles lie closer. A circle or a plane is never lower.

Assumptions: plane strain; one soil without layers or joints; the ground goes on level in
front of the toe, and at the upper slope angle (level, for a ground line) behind. Pore
pressure is r_u γ times the depth below ground, or hydrostatic below a water line. Shaking
is k_h W outward at the centroid, and k_h on the surcharge. A curved envelope is taken at
the mean effective normal stress of the critical surface (``tangents``).

A tension crack is vertical, stands in ground that is no face, and is there before the slope
moves, so that opening it takes no work. The surface ends in it at whatever depth is worst, down
to the one that is stated, or that is searched for: what the unreduced strength holds open, and
half the height. A mass that comes out on the face is cracked over no larger share of its height
than the slope. Water stands in the crack to its depth or to the brim, whatever part is used.

A pool presses on the ground it covers. Ground below its level is saturated and has at least
the pressure of water at rest there; a pore pressure ratio counts from the pressure of the pool
on the ground. Drawn down, the pressure on the ground is gone, and that in the ground is less by
the weight of the pool that stood on it. A support force acts on every mass that comes out below
it; of a load counts what stands on the mass.

Limits: with φ′ = 0 and a face flatter than about 53° no surface is the worst, deeper ones
always have a lower factor; it is then the limit, γH/c = 5.52, unless firm ground is given.
Ground without end slides at depth once tan φ′/F falls below the tangent that
``endless_slope`` gives; a factor is never above that. Without any friction that is no factor at
all, and refused. The surface nowhere overhangs. A load counts on masses that come out at least
a tenth of the height below the edge it starts from; smaller pieces are told apart as the edge
of the crest (``crest_edge``).

Why F / tan φ′ depends on c′ / tan φ′ alone. Per spiral the moment balance reads

    c_m ∫ r² dα = M(φ_m) + tan φ_m ∫ u r² dα,    c_m = c′/F,    tan φ_m = tan φ′/F

M is the moment of weight, shaking, loads, support and pool, and of water in a crack.
Spiral, M and the pore pressure term know the strength through φ_m only, since u and the
loads are given from outside. So the slope is at its limit on one curve c_m = c_r(tan φ_m),
the largest over all spirals, and reduction moves (c′, tan φ′) to it along a ray from the
origin: the ratio c_m / tan φ_m = c′ / tan φ′ picks the point, and F = tan φ′ / tan φ_m.
Pore pressure, shaking and a crack of stated depth change the curve, not the argument; a
crack that is searched for is as deep as c′ and φ′ hold it open, so that there is one curve
a depth. One curve then serves any number of strengths (``strength_law``), and where nothing
but self-weight, r_u and k_h acts, any γ and H as well, with c′ / γH.

Sources: Rendulic (1935), Der Bauingenieur 16; Taylor (1937), J. Boston Soc. Civ. Eng. 24;
Chen (1975), Limit Analysis and Soil Plasticity, ch. 9; Michalowski (1995), Géotechnique
45(2); Michalowski (2013), Géotechnique 63, and Utili (2013), Géotechnique 63, for the crack
(both from memory); Morgenstern (1963), Géotechnique 13(2), for the pool drawn down (from memory).
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult, target_notices
from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.ground.newmark import newmark_notices, newmark_values
from slipmargin.stability.ground.standing_water import drawdown_notices
from slipmargin.stability.ground.tension_crack import DEEPEST_SHARE
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.law_family import LawFamily
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.rotational.crest_edge import edge_factor
from slipmargin.stability.rotational.critical_spiral import Critical, critical_spirals
from slipmargin.stability.rotational.endless_slope import deep_tangent, skin_tangent
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.limits import RotationalLimits, rotational_limits
from slipmargin.stability.rotational.notices import rotational_notices
from slipmargin.stability.rotational.spiral import LoadedSlope
from slipmargin.stability.rotational.spiral_strength_law import spiral_strength_law
from slipmargin.stability.rotational.values import (
    RotationalValues,
    follow_spiral,
    rotational_values,
    spiral_values,
)
from slipmargin.stability.rotational.yield_coefficient import yield_coefficients
from slipmargin.stability.soil import Soil
from slipmargin.stability.strength_law import StrengthLaw, mean_stress
from slipmargin.stability.tangents import along_tangents, factor_along
from slipmargin.strength import InputError, Notice, Numeric, Strength

__all__ = ["Rotational", "RotationalValues"]

Law = Callable[[Numeric, Numeric], Float]

_BY_STRENGTH = 64  # more strengths than this are worth a curve
_BY_DEPTH = 400  # as many with a crack of their own each
_FEW = 16  # slopes that are asked for more than their factor
_KEPT = 256  # searches of no more slopes than are worth a curve


@fields.documented
@dataclass(frozen=True, slots=True, kw_only=True)
class Rotational(RotationalInputs):
    """Inputs of a rotational slide; scalars or arrays that broadcast.

    The ground is a plain slope (height, face and upper slope; toe at the origin, rising to
    the right) or a ``ground_line``. ``evaluate`` raises ``InputError`` where a field lies
    outside its declared limits or fields contradict each other.

    Examples
    --------
    A vertical cut without friction falls at a height of 3.83 c / γ on a curved
    surface (Taylor 1937):

    >>> from slipmargin.stability import Rotational, Soil
    >>> from slipmargin.strength import Strength
    >>> clay = Soil(strength=Strength(cohesion=18.0, friction_angle=0.0), unit_weight=18.0)
    >>> result = Rotational(soil=clay, height=3.83, face_angle=90.0).evaluate()
    >>> round(float(result.lowest), 2)
    1.0
    """

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Factor of safety against sliding on the critical spiral.

        With more than 64 strengths on one slope the factors come from ``strength_law``, the
        values that describe the spiral are nan, and the notices about it are those of the
        lowest and the highest factor.
        """
        result = self._evaluated()
        helped = surcharge_notices(self, result.factors_of_safety)
        drawn, values = self._beside(result)
        at_yield = values.yield_seismic_coefficient
        values = replace(values, **newmark_values(self, at_yield))
        moved = newmark_notices(self, values, at_yield)
        notices = *result.notices, *drawn, *helped, *moved, *rare_values(self)
        return replace(result, values=values, notices=notices)

    def follow(self, found: RotationalValues) -> RotationalValues:
        """The values again, with what the search found taken from ``found``."""
        moved = newmark_values(self, found.yield_seismic_coefficient)
        return replace(follow_spiral(self, found), **moved)

    @classmethod
    def example(cls) -> Rotational:
        """A slope on which every load acts."""
        return cls(
            soil=Soil(
                name="bank",
                strength=Strength(cohesion=6.0, friction_angle=31.0),
                unit_weight=18.0,
                saturated_unit_weight=20.0,
            ),
            height=7.0,
            face_angle=45.0,
            upper_slope_angle=5.0,
            pore_pressure_ratio=0.1,
            surcharge=5.0,
            surcharge_setback=0.5,
            surcharge_width=4.0,
            tension_crack_depth=1.0,
            tension_crack_water_depth=0.2,
            support_force=10.0,
            support_angle=10.0,
            support_height=2.0,
            horizontal_seismic_coefficient=0.05,
            target=1.3,
        )

    def factors_alone(self, *, leave_out: Collection[str] = ()) -> dict[str, Numeric]:
        """Factors by limit state, without another search for those of the slope unloaded.

        Raises
        ------
        InputError
            As ``evaluate``.
        """
        fields.validate(self)
        curve = self.soil.strength.curve
        if curve is None:
            return {"sliding": self._on_line()[0]}
        return {"sliding": factor_along(self, curve, lambda line: line._on_line(stressed=True))}

    def _on_line(self, *, stressed: bool = False) -> tuple[Numeric, Numeric]:
        """Factor of a straight envelope, and the effective normal stress [kPa] if asked for."""
        slope, c, tan = self._ready()
        law = self._law_for(slope, c) if c.size > _BY_STRENGTH else None
        if law is None:
            spiral = self._critical(slope, c, tan)
            factor, skin, deep = _capped(slope, c, tan, 1.0 / spiral.inverse)
            stress = np.where(spiral.unbounded | (tan <= 0.0), np.nan, -spiral.rate)
        else:
            factor_of, ratio, scale = law
            factor, skin, deep = _capped(slope, c, tan, factor_of(c / ratio, tan))
            stress = np.full(factor.shape, np.nan)
            if stressed:
                stress = ratio * mean_stress(factor_of, c / ratio, tan, scale)
        shape = self._shape()
        stress = np.where(skin | deep, np.nan, stress)
        return factor.reshape(shape)[()], stress.reshape(shape)[()]

    def _evaluated(self) -> CheckResult:
        fields.validate(self)
        if (curve := self.soil.strength.curve) is not None:
            return along_tangents(self, curve, Rotational._along_line)
        return self._along_line()

    def _beside(self, result: CheckResult) -> tuple[tuple[Notice, ...], RotationalValues]:
        """What few slopes are asked besides: the yield coefficient, and the pool drawn down."""
        shape = self._shape()
        curved = self.soil.strength.curve is not None  # a tangent flatters every other slope
        if curved or int(np.prod(shape)) > _FEW:
            return (), result.values
        slope = loaded_slope(self, shape)
        c, tan = self._strengths(shape)
        values = replace(
            result.values, yield_seismic_coefficient=self._yield(slope, c, tan).reshape(shape)[()]
        )
        if slope.pool_level is None:
            return (), values
        drawn = self._found(replace(slope, pool_stands=False), c, tan).factor
        level = np.broadcast_to(np.asarray(self.standing_water_level), shape).reshape(-1)
        lower = np.where(level > 0.0, drawn, np.nan).reshape(shape)[()]
        return drawdown_notices(lower, result.lowest, self.target), replace(
            values, drawdown_factor=lower
        )

    def _yield(self, slope: LoadedSlope, c: Float, tan: Float) -> Float:
        still = replace(slope, seismic_coefficient=np.zeros(1))
        return _yield_of(pickle.dumps((still, c, tan, self._on_face)))

    def _strengths(self, shape: tuple[int, ...]) -> tuple[Float, Float]:
        """c′ and tan φ′, flat."""
        strength = self.soil.strength
        pair = np.asarray(strength.cohesion, dtype=float), np.asarray(strength.tan_friction_angle)
        c, tan = (np.broadcast_to(one, shape).reshape(-1) for one in pair)
        return c, tan

    def _ready(self) -> tuple[LoadedSlope, Float, Float]:
        """The slope, c′ and tan φ′, flat."""
        shape = self._shape()
        slope = loaded_slope(self, shape)
        c, tan = self._strengths(shape)
        _held_by_friction(slope, tan)
        return slope, c, tan

    def _along_line(self) -> CheckResult:
        shape = self._shape()
        strength = self.soil.strength
        slope, c, tan = self._ready()
        law = self._law_for(slope, c) if c.size > _BY_STRENGTH else None
        if law is not None:
            factor_of, ratio, scale = law
            scaled = c / ratio
            factor, skin, deep = _capped(slope, c, tan, factor_of(scaled, tan))
            stress = ratio * mean_stress(factor_of, scaled, tan, scale)
            stress = np.where(skin | deep, np.nan, stress)
            told = np.array([np.argmin(factor), np.argmax(factor)])
            known = {"effective_normal_stress": stress}
            values = rotational_values(slope, c, tan, factor, known, shape)
            one, c, tan = slope.take(told), c[told], tan[told]
            found = self._found(one, c, tan)
            described = rotational_values(one, c, tan, found.factor, found.values, (2,))
        else:
            one, found = slope, self._found(slope, c, tan)
            deep = found.deep
            values = rotational_values(slope, c, tan, found.factor, found.values, shape)
            described = values
        factors = {"sliding": values.factor_of_safety}
        notices = rotational_notices(
            self,
            one,
            described,
            residual=found.residual,
            endless=deep,
            unbounded=found.unbounded,
            lifted=found.lifted,
            edge=_edge(one, c, tan, found.factor),
        )
        return CheckResult(
            check=self,
            factors_of_safety=factors,
            values=values,
            notices=(
                *strength.caveats,
                *target_notices(factors, self.target),
                *notices,
            ),
        )

    def _found(self, slope: LoadedSlope, c: Float, tan: Float) -> _Found:
        spiral = self._critical(slope, c, tan)
        factor, skin, deep = _capped(slope, c, tan, 1.0 / spiral.inverse)
        single = ~skin & ~deep
        unbounded = spiral.unbounded & single
        described = spiral_values(slope, spiral, tan)
        described["effective_normal_stress"] = np.where(tan > 0.0, -spiral.rate, np.nan)
        return _Found(
            factor=factor,
            values={
                name: np.where(single & ~unbounded, value, np.nan)
                for name, value in described.items()
            },
            residual=np.where(single, spiral.residual, 0.0),
            deep=deep,
            unbounded=unbounded,
            lifted=(spiral.rate > 0.0) & (tan > 0.0) & single,
        )

    def _critical(self, slope: LoadedSlope, c: Float, tan: Float) -> Critical:
        if c.size > _BY_STRENGTH:
            return critical_spirals(slope, c, tan, on_face=self._on_face)
        # the questions of one run come back to the same slope and strength
        return _critical_of(pickle.dumps((slope, c, tan, self._on_face)))

    def _law_for(self, slope: LoadedSlope, c: Float) -> tuple[Law, Float, float] | None:
        """The factor of c′ [kPa] and tan φ′ [-] by a curve, c′ over that which it takes, and its
        scale of stress; ``None`` where each slope is one of its own.

        A crack that is searched for is as deep as each strength holds it open, so that one
        curve a depth is drawn.
        """
        if _similar(slope):
            first, ratio = _first_of(slope)
            law = self._law(first)
            return law.factor, ratio, law.scale
        depth = slope.crack_depth
        if not self.search_tension_crack or depth is None or c.size <= _BY_DEPTH:
            return None
        if not _single(replace(slope, crack_depth=None)):
            return None
        # depths that do not hang on these strengths: the next ones use the same curves
        deepest = DEEPEST_SHARE * float(slope.height[0])

        def law_at(values: Sequence[float]) -> StrengthLaw:
            return self._law(replace(slope, crack_depth=np.array(values)))

        family = LawFamily.build(law_at, [(0.0, deepest)])
        assert family is not None

        def factor(cohesion: Numeric, tan_friction_angle: Numeric) -> Float:
            return family.factor(cohesion, tan_friction_angle, [depth])

        return factor, np.ones(1), family.laws[0].scale

    def strength_law(self) -> StrengthLaw | None:
        """The factor as a function of c′ and φ′ alone, for one slope with its loads.

        Returns
        -------
        StrengthLaw or None
            None where a tension crack is searched for, since its depth hangs on c′ and φ′
            each. ``evaluate`` takes arrays of strengths in any case.

        Raises
        ------
        InputError
            A field other than the strength is an array.
        """
        fields.validate(self)
        slope = loaded_slope(self, self._shape())
        if not _single(slope):
            raise InputError("rotational", "arrays", "all but the strength must be scalar")
        return None if self.search_tension_crack else self._law(slope)

    def limits(self) -> RotationalLimits:
        """Greatest height, steepest face and least cohesion for the target (1 by default).

        A search of its own, of a tenth of a second; for scalars on a plain slope, nan
        otherwise.
        """
        fields.validate(self)
        curved = self.soil.strength.curve is not None  # a tangent may not design another slope
        if self._shape() or self.ground_line is not None or curved:
            return RotationalLimits(np.nan, np.nan, np.nan)

        def slope(height: float, face_angle: float, cohesion: float) -> LoadedSlope:
            soil = replace(self.soil, strength=replace(self.soil.strength, cohesion=cohesion))
            changed = replace(self, soil=soil, height=height, face_angle=face_angle)
            return loaded_slope(changed, ())

        stated = (self.tension_crack_depth, self.standing_water_level, self.support_force)
        in_place = any(one is not None and float(one) > 0.0 for one in stated)

        assert self.height is not None and self.face_angle is not None  # noqa: PT018
        return rotational_limits(
            slope,
            height=float(self.height),
            any_height=not in_place,
            face_angle=float(self.face_angle),
            flattest=float(self.upper_slope_angle),
            cohesion=float(self.soil.strength.cohesion),
            tan_friction_angle=float(self.soil.strength.tan_friction_angle),
            target=1.0 if self.target is None else float(self.target),
            on_face=self._on_face,
        )

    @property
    def _on_face(self) -> bool:
        """Whether ends on the face are worth a look where no load stands above. A plain slope
        under its own weight is similar to its upper part, and the larger of the two is worse.
        Water and firm ground do not shrink with it.
        """
        fixed = (self.ground_line, self.water_line, self.firm_ground_depth)
        depth = self.tension_crack_water_depth
        loads = (self.standing_water_level, self.support_force, self.surcharge_setback)
        return (
            any(one is not None for one in fixed)
            or any(bool(np.any(np.asarray(one) > 0.0)) for one in loads)
            or isinstance(depth, str)
            or bool(np.any(np.asarray(depth) > 0.0))
        )

    def _law(self, slope: LoadedSlope) -> StrengthLaw:
        # the same slope is asked for its law by every question of its strength
        return _law_of(pickle.dumps((slope, self._on_face)))

    def _shape(self) -> tuple[int, ...]:
        amounts = [
            getattr(self, name)
            for name, declaration, _ in fields.of(self)
            if isinstance(declaration, fields.Amount)
        ]
        strength = self.soil.strength
        amounts += [strength.cohesion, strength.friction_angle]
        amounts += [self.soil.unit_weight, self.soil.saturated_unit_weight]
        return np.broadcast_shapes(*(np.shape(value) for value in amounts if value is not None))


@dataclass(frozen=True, slots=True)
class _Found:
    """Outcome of a direct search, flat: factors, values of the spirals, and what to say."""

    factor: Float
    values: dict[str, Float]
    residual: Float
    deep: NDArray[np.bool_]
    unbounded: NDArray[np.bool_]
    lifted: NDArray[np.bool_]


@lru_cache(maxsize=_KEPT)
def _critical_of(pickled: bytes) -> Critical:
    slope, c, tan, on_face = pickle.loads(pickled)
    return critical_spirals(slope, c, tan, on_face=on_face)


@lru_cache(maxsize=_KEPT)
def _yield_of(pickled: bytes) -> Float:
    slope, c, tan, on_face = pickle.loads(pickled)
    return yield_coefficients(slope, c, tan, on_face=on_face)


@lru_cache(maxsize=64)
def _law_of(pickled: bytes) -> StrengthLaw:
    slope, on_face = pickle.loads(pickled)
    low = float(np.max(deep_tangent(slope)))
    high = float(np.max(skin_tangent(slope)))
    if not slope.scales:
        # what lies behind the face or on its edge can be worse than its skin
        bare = critical_spirals(slope, np.zeros(1), np.ones(1), on_face=on_face)
        high = max(high, float(bare.inverse[0]))
    return spiral_strength_law(slope, low, high, on_face=on_face)


def _similar(slope: LoadedSlope) -> bool:
    """Whether one curve serves all: nothing but the strength differs, or γ and H too where
    every load scales with them.
    """
    return _single(_first_of(slope)[0] if slope.scales and _one_shape(slope) else slope)


def _one_shape(slope: LoadedSlope) -> bool:
    ways = slope.ground.directions
    return bool(np.all(ways == ways[:1]))


def _single(slope: LoadedSlope) -> bool:
    sizes = [
        np.size(value)
        for name in LoadedSlope.__slots__
        if isinstance(value := getattr(slope, name), np.ndarray)
    ]
    return bool(max(*sizes, slope.ground.vertices.shape[0]) == 1)


def _first_of(slope: LoadedSlope) -> tuple[LoadedSlope, Float]:
    """The first slope of a similar set, and γH of each over that of the first."""
    stress = slope.unit_weight * slope.height
    one = slice(0, 1)
    first = replace(
        slope,
        ground=slope.ground.take(one),
        height=slope.height[one],
        unit_weight=slope.unit_weight[one],
        saturated_unit_weight=slope.saturated_unit_weight[one],
    )
    return first, stress / stress[0]


def _held_by_friction(slope: LoadedSlope, tan: Float) -> None:
    """Refuse a soil without friction on ground without end that nothing else would hold."""
    deep = deep_tangent(slope)
    if np.any(tan > 0.0) or not np.any(deep > 0.0):
        return
    if np.any(slope.ground.directions[:, -1].imag > 0.0):
        raise InputError(
            "upper_slope_angle",
            None,
            "with φ′ = 0 ground that rises without end slides at any cohesion, so that no factor "
            "can be given; draw the ground to where it ends, as a ground_line",
        )
    raise InputError(
        "firm_ground_depth",
        None,
        "with φ′ = 0 and shaking, ground without end slides at any cohesion, so that no factor "
        "can be given; say how deep below the lowest ground a firm layer lies",
    )


def _edge(slope: LoadedSlope, c: Float, tan: Float, factor: Float) -> float | None:
    """Factor of the edge of the crest on the loaded slope with the lowest factor, where the
    edge has a lower one.
    """
    loaded = np.where(slope.surcharge > 0.0, factor, np.inf)
    row = int(np.argmin(loaded))
    if not np.isfinite(loaded[row]) or loaded[row] <= 0.0:
        return None
    one = slope.take(np.array([row]))
    return edge_factor(one, float(c[row]), float(tan[row]), float(loaded[row]))


def _capped(
    slope: LoadedSlope, c: Float, tan: Float, factor: Float
) -> tuple[Float, NDArray[np.bool_], NDArray[np.bool_]]:
    """Factor held below those of a skin without cohesion and of endless ground, and where
    each of them governs.
    """
    bare = np.flatnonzero(c == 0.0)
    skin, deep = np.zeros(factor.shape, dtype=bool), np.zeros(factor.shape, dtype=bool)
    needed = np.broadcast_to(deep_tangent(slope), factor.shape)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        if bare.size:
            skin_tan = np.broadcast_to(skin_tangent(slope), factor.shape)[bare]
            by_skin = np.where(tan[bare] > 0.0, tan[bare] / skin_tan, 0.0)
            skin[bare] = by_skin <= factor[bare]
            factor[bare] = np.minimum(by_skin, factor[bare])
        if np.any(needed > 0.0):
            by_depth = np.where(needed > 0.0, tan / needed, np.inf)
            deep = by_depth < factor
            factor = np.where(deep, by_depth, factor)
    return factor, skin, deep
