"""A rotational check as its search sees it: slopes and strengths in rows, and what is found.

One curve of the factor serves many strengths of one slope (``spiral_strength_law``); fewer, and
slopes of their own each, are searched for directly. Neither is below the factor of a skin
without cohesion, nor that of ground without end (``endless_slope``).
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.flat import shape_of, taken
from slipmargin.stability.ground.ground_line import Float
from slipmargin.stability.ground.tension_crack import DEEPEST_SHARE
from slipmargin.stability.law_family import LawFamily
from slipmargin.stability.rotational.crest_edge import edge_factor
from slipmargin.stability.rotational.critical_spiral import Critical, critical_spirals
from slipmargin.stability.rotational.endless_slope import deep_tangent, skin_tangent
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.inputs import RotationalInputs
from slipmargin.stability.rotational.spiral import LoadedSlope
from slipmargin.stability.rotational.spiral_strength_law import spiral_strength_law
from slipmargin.stability.rotational.values import (
    RotationalValues,
    at_failure,
    spiral_values,
)
from slipmargin.stability.rotational.yield_coefficient import yield_coefficients
from slipmargin.stability.strength_law import StrengthLaw, mean_stress
from slipmargin.strength import InputError, Numeric

__all__ = ["Case", "Found", "is_single", "remembered"]

Flags = NDArray[np.bool_]
Law = Callable[[Numeric, Numeric], Float]
Answer = TypeVar("Answer")

_BY_STRENGTH = 48  # more strengths than this are worth a curve
_BY_DEPTH = 400  # as many with a crack of their own each
_KEPT = 256


def remembered(question: Callable[..., Answer], *about: Any) -> Answer:
    """What a function of records and arrays gives, kept for the questions of one run, which come
    back to the same slope and strength.
    """
    answer: Answer = _answered(pickle.dumps((question, *about)))
    return answer


@lru_cache(maxsize=_KEPT)
def _answered(pickled: bytes) -> Any:
    question, *about = pickle.loads(pickled)
    return question(*about)


@dataclass(frozen=True, slots=True)
class Found:
    """Outcome of a direct search, by rows: spirals, factors, and where a skin without cohesion
    or ground without end (``deep``) has a lower factor than any of them. ``stress`` is the mean
    effective normal stress on a spiral [kPa], nan where there is none; the mass is ``lifted``
    where more friction would lower the factor.
    """

    spiral: Critical
    factor: Float
    stress: Float
    skin: Flags
    deep: Flags
    lifted: Flags

    @property
    def single(self) -> Flags:
        """Whether the factor is that of a spiral."""
        return ~self.skin & ~self.deep

    @property
    def unbounded(self) -> Flags:
        """Whether no spiral is the worst, larger ones always having a lower factor."""
        return self.spiral.unbounded & self.single

    @property
    def residual(self) -> Float:
        """What each root left of its equation."""
        return np.where(self.single, self.spiral.residual, 0.0)


@dataclass(frozen=True, slots=True)
class Case:
    """Slopes, c′ [kPa] and tan φ′ [-] in rows, of inputs of ``shape``."""

    slope: LoadedSlope
    cohesion: Float
    tan: Float
    shape: tuple[int, ...]
    search_crack: bool

    @classmethod
    def of(cls, check: RotationalInputs) -> Case:
        """The rows of a check.

        Raises
        ------
        InputError
            As ``loaded_slope``; or a soil without friction on ground without end that nothing
            else would hold.
        """
        shape, strength = shape_of(check), check.soil.strength
        slope = loaded_slope(check, shape)
        pair = np.asarray(strength.cohesion, dtype=float), np.asarray(strength.tan_friction_angle)
        c, tan = (np.broadcast_to(one, shape).reshape(-1) for one in pair)
        if not np.any(tan > 0.0) and np.any(deep_tangent(slope) > 0.0):
            _refuse_endless(slope)
        return cls(slope, c, tan, shape, check.search_tension_crack)

    def shaped(self, rows: Float) -> Numeric:
        """Rows in the shape of the inputs."""
        return rows.reshape(self.shape)[()]

    def lowest_and_highest(self, factor: Float) -> Case:
        """The rows of the lowest and the highest factor."""
        rows = np.array([np.argmin(factor), np.argmax(factor)])
        slope, c, tan = self.slope.take(rows), self.cohesion[rows], self.tan[rows]
        return Case(slope, c, tan, (2,), self.search_crack)

    def searched(self) -> Found:
        """The critical spirals."""
        one = self.slope, self.cohesion, self.tan
        few = self.cohesion.size <= _BY_STRENGTH
        spiral = remembered(critical_spirals, *one) if few else critical_spirals(*one)
        factor, skin, deep = self._capped(1.0 / spiral.inverse)
        rubs = (self.tan > 0.0) & ~skin & ~deep
        return Found(
            spiral=spiral,
            factor=factor,
            stress=np.where(rubs & ~spiral.unbounded, -spiral.rate, np.nan),
            skin=skin,
            deep=deep,
            lifted=(spiral.rate > 0.0) & rubs,
        )

    def by_law(self, *, stressed: bool = True) -> tuple[Float, Float] | None:
        """Factor and, if asked for, mean effective normal stress [kPa] by a curve; ``None``
        where there are few, or each slope is one of its own.

        A crack that is searched for is as deep as each strength holds it open, so that one
        curve a depth is drawn.
        """
        slope, c, depth = self.slope, self.cohesion, self.slope.crack_depth
        if c.size <= _BY_STRENGTH:
            return None
        if is_single(first := _first_of(slope)):
            law, weights = remembered(spiral_strength_law, first), slope.unit_weight * slope.height
            return self._read(law.factor, weights / weights[0], law.scale, stressed=stressed)
        if not self.search_crack or depth is None or c.size <= _BY_DEPTH:
            return None
        if not is_single(replace(slope, crack_depth=None)):
            return None

        def law_at(values: Sequence[float]) -> StrengthLaw:
            return remembered(spiral_strength_law, replace(slope, crack_depth=np.array(values)))

        # depths that do not hang on these strengths: the next ones use the same curves
        family = LawFamily.build(law_at, [(0.0, DEEPEST_SHARE * float(slope.height[0]))])
        assert family is not None

        def factor(cohesion: Numeric, tan_friction_angle: Numeric) -> Float:
            return family.factor(cohesion, tan_friction_angle, [depth])

        return self._read(factor, np.ones(1), family.laws[0].scale, stressed=stressed)

    def _read(self, law: Law, ratio: Float, scale: float, *, stressed: bool) -> tuple[Float, Float]:
        """Factor and stress by a curve that takes c′ over a ratio."""
        scaled = self.cohesion / ratio
        factor, skin, deep = self._capped(law(scaled, self.tan))
        stress = np.full(factor.shape, np.nan)
        if stressed:
            stress = ratio * mean_stress(law, scaled, self.tan, scale)
        return factor, np.where(skin | deep, np.nan, stress)

    def _capped(self, factor: Float) -> tuple[Float, Flags, Flags]:
        """Factor held below those of a skin without cohesion and of endless ground, and where
        each of them governs.
        """
        tan, bare = self.tan, np.flatnonzero(self.cohesion == 0.0)
        skin, deep = np.zeros(factor.shape, dtype=bool), np.zeros(factor.shape, dtype=bool)
        needed = np.broadcast_to(deep_tangent(self.slope), factor.shape)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            if bare.size:
                skin_tan = np.broadcast_to(skin_tangent(self.slope), factor.shape)[bare]
                by_skin = np.where(tan[bare] > 0.0, tan[bare] / skin_tan, 0.0)
                skin[bare] = by_skin <= factor[bare]
                factor[bare] = np.minimum(by_skin, factor[bare])
            if np.any(needed > 0.0):
                by_depth = np.where(needed > 0.0, tan / needed, np.inf)
                deep = by_depth < factor
                factor = np.where(deep, by_depth, factor)
        return factor, skin, deep

    def values(self, found: Found) -> RotationalValues:
        """The values of the critical spirals."""
        described = spiral_values(self.slope, found.spiral, self.tan)
        clear = found.single & ~found.unbounded
        told = {name: np.where(clear, value, np.nan) for name, value in described.items()}
        return self.values_of(found.factor, told | {"effective_normal_stress": found.stress})

    def values_of(self, factor: Float, known: dict[str, Float]) -> RotationalValues:
        """The values in the shape of the inputs, nan as far as they are not known."""
        slope, c = self.slope, self.cohesion
        with np.errstate(divide="ignore", invalid="ignore"):
            reduced, turned = at_failure(c, self.tan, factor)
            number = slope.unit_weight * slope.height / reduced
        stands = factor > 0.0
        reduced, turned = (np.where(stands, value, np.nan) for value in (reduced, turned))
        columns = dict.fromkeys(RotationalValues.__dataclass_fields__, np.array(np.nan)) | known
        columns |= {
            "slope_height": slope.height,
            "factor_of_safety": factor,
            "reduced_cohesion": reduced,
            "reduced_friction_angle": turned,
            "stability_number": np.where(c > 0.0, number, np.nan),
        }
        if "resisting_area" in known:
            columns["resisting_moment"] = reduced * known["resisting_area"]
        return RotationalValues(
            **{
                name: self.shaped(np.broadcast_to(value, factor.shape))
                for name, value in columns.items()
            }
        )

    def drawn_down(self) -> Float:
        """Factors with the pool gone and its water in the ground."""
        return replace(self, slope=replace(self.slope, pool_stands=False)).searched().factor

    def yield_coefficients(self) -> Float:
        """Shaking at which each is at its limit."""
        still = replace(self.slope, seismic_coefficient=np.zeros(1))
        return remembered(yield_coefficients, still, self.cohesion, self.tan)

    def edge_factor(self, factor: Float) -> float | None:
        """Factor of the edge of the crest on the loaded slope with the lowest factor, where the
        edge has a lower one.
        """
        loaded = np.where(self.slope.surcharge > 0.0, factor, np.inf)
        row = int(np.argmin(loaded))
        if not np.isfinite(loaded[row]) or loaded[row] <= 0.0:
            return None
        one = self.slope.take(np.array([row]))
        return edge_factor(one, float(self.cohesion[row]), float(self.tan[row]), float(loaded[row]))


def is_single(slope: LoadedSlope) -> bool:
    """Whether there is one row only."""
    tables = (getattr(slope, entry.name) for entry in fields(slope))
    sizes = [table.size for table in tables if isinstance(table, np.ndarray)]
    return bool(max(*sizes, slope.ground.vertices.shape[0]) == 1)


def _first_of(slope: LoadedSlope) -> LoadedSlope:
    """The first of slopes of one shape whose loads all grow with γ and H, so that its curve
    serves all of them; the slopes themselves where they are no such set.
    """
    ways = slope.ground.directions
    if not slope.scales or np.any(ways != ways[:1]):
        return slope
    one = slice(0, 1)
    return replace(
        slope,
        ground=taken(slope.ground, one),
        height=slope.height[one],
        unit_weight=slope.unit_weight[one],
        saturated_unit_weight=slope.saturated_unit_weight[one],
    )


def _refuse_endless(slope: LoadedSlope) -> None:
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
