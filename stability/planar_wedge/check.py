"""Planar wedge: a block sliding on one plane through the toe of a slope.

Assumptions: plane strain, a metre run of slope with free sides; one soil; the plane passes
through the toe and ends at the ground or in a vertical tension crack; strength is mobilised
along the whole plane at once. Water in the crack pushes with V = ½ γ_w z_w² and lifts with
U = ½ γ_w z_w L, falling to zero at the toe; or U = r_u γ A / cos ψ,
of the soil alone, since r_u is defined on the soil's weight. A support force is a load
on the block, not a part of its strength. No moments are considered. A curved envelope is
taken at the mean effective normal stress of the plane (``tangents``).

Limits: a plane that is searched for is close to the critical surface of a steep slope only;
flatter than about 75 deg a curved surface governs and the factor is on the unsafe side. A
negative effective normal force means that the block lifts.

The forces stand in ``planar_wedge_forces``, the ground in ``planar_wedge_geometry`` and
``planar_ground_line``, the search in ``planar_search`` and, for many strengths of one slope,
``planar_by_strength``.

Sources: Culmann (1866) and Taylor (1948), Fundamentals of Soil Mechanics, ch. 16, for the
plane through the toe; Hoek & Bray (1974), Rock Slope Engineering, for the tension crack, its
water and the support force; Bishop & Morgenstern (1960), Géotechnique 10(4), for r_u.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import fields
from slipmargin.stability.check import CheckResult, target_notices
from slipmargin.stability.fields import amount
from slipmargin.stability.helping_load import surcharge_notices
from slipmargin.stability.planar_wedge import design as planar_design
from slipmargin.stability.planar_wedge.by_strength import SurfacesByStrength, strength_law
from slipmargin.stability.planar_wedge.design import PlanarLimits
from slipmargin.stability.planar_wedge.forces import BlockForces, Loads, block_forces
from slipmargin.stability.planar_wedge.geometry import Slope, StraightSlope
from slipmargin.stability.planar_wedge.ground import GroundLine
from slipmargin.stability.planar_wedge.limits import refuse_impossible
from slipmargin.stability.planar_wedge.notices import planar_notices
from slipmargin.stability.planar_wedge.search import Case, Surface, critical_surface, pieces
from slipmargin.stability.planar_wedge.tension_crack import open_crack_depth
from slipmargin.stability.planar_wedge.values import PlanarWedgeValues
from slipmargin.stability.rare_values import rare_values
from slipmargin.stability.soil import Soil
from slipmargin.stability.strength_law import StrengthLaw
from slipmargin.stability.tangents import along_tangents
from slipmargin.strength import InputError, Numeric, PowerCurve

__all__ = ["PlanarWedge", "PlanarWedgeValues", "force_polygon"]

_BY_STRENGTH = 4000  # more strengths than this are worth a curve
_DESIGNED = ("maximum_height", "steepest_face_angle", "required_support_force")
_DESIGN = 256  # most slopes for which a search of searches is worth its time


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanarWedge:
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
    >>> round(float(result.lowest), 2), round(float(result.values.plane_angle), 1)
    (1.0, 45.0)
    """

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ("sliding",)

    soil: Soil = fields.soil("Soil of the slope.", along_curve=True)
    height: Numeric | None = amount(
        "length",
        "H",
        "Height of the face, toe to crest.",
        default=None,
        above=0.0,
        usual=fields.USUAL_HEIGHT,
    )
    face_angle: Numeric | None = amount(
        "ground_angle", "ψ_f", "Angle of the face.", default=None, above=0.0, high=90.0
    )
    upper_slope_angle: Numeric = amount(
        "ground_angle",
        "ψ_s",
        "Angle of the ground behind the crest.",
        default=0.0,
        low=0.0,
        below=90.0,
    )
    ground_line: Any = fields.ground(
        "Ground from the toe upward, instead of height and angles; its crest is the point "
        "highest above the straight line from the toe to the last point."
    )
    plane_angle: Numeric | None = amount(
        "angle",
        "ψ_p",
        "Angle of the slip plane; none is searched for.",
        default=None,
        low=0.0,
        below=90.0,
    )
    tension_crack_distance: Numeric | None = amount(
        "length", "b", "Tension crack behind the crest; none is no crack.", default=None, low=0.0
    )
    search_tension_crack: bool = fields.flag(
        "Search for the worst place of a tension crack behind the crest.", default=False
    )
    tension_crack_water_depth: Numeric | Literal["full"] = amount(
        "length",
        "z_w",
        'Depth of water standing in the crack; "full" is brim-full.',
        default=0.0,
        low=0.0,
        words=("full",),
    )
    pore_pressure_ratio: Numeric = amount(
        "ratio",
        "r_u",
        "Pore pressure over γ times the depth below ground.",
        default=0.0,
        low=0.0,
        high=1.0,
    )
    surcharge: Numeric = amount(
        "stress", "q", "Load on plan area behind the crest.", default=0.0, low=0.0
    )
    horizontal_seismic_coefficient: Numeric = amount(
        "ratio", "k_h", "Horizontal force over weight, outward.", default=0.0, low=0.0, high=1.0
    )
    support_force: Numeric = amount(
        "force_per_length", "T", "Force of anchors or nails on the block.", default=0.0, low=0.0
    )
    support_angle: Numeric = amount(
        "angle", "α", "Support force below horizontal.", default=0.0, low=-90.0, high=90.0
    )
    water_unit_weight: Numeric = amount(
        "unit_weight", "γ_w", "Unit weight of water.", default=9.81, above=0.0, everywhere=True
    )
    target: Numeric | None = amount(
        "ratio", "F_t", "Factor of safety asked for.", default=None, above=0.0
    )

    @property
    def states_beside(self) -> tuple[str, ...]:
        """What is judged beside a searched plane: the rotation of the same slope."""
        return ("rotation",) if self.plane_angle is None else ()

    def evaluate(self) -> CheckResult:
        """Factor of safety against sliding on the given or the critical plane.

        The design values take a target of 1 where none is given. They are nan where the plane
        is searched for, since a rotation may govern them (see ``limits``), and in a run of more
        than 256 slopes, since they search many slopes for one.
        """
        curve = self.soil.strength.curve
        result = self._along_line(design=True) if curve is None else self._along_curve(curve)
        helped = surcharge_notices(self, result.factors_of_safety)
        return dataclasses.replace(result, notices=(*result.notices, *helped, *rare_values(self)))

    def _along_line(self, *, design: bool) -> CheckResult:
        """The factor of a straight envelope, with the values of design where they are wanted."""
        shape, case = self._ready()
        size = int(np.prod(shape))
        columns, converged = _searched(case, size)
        design = design and case.plane_angle is not None and size <= _DESIGN
        columns |= (
            self._design(case, size) if design else dict.fromkeys(_DESIGNED, np.array(np.nan))
        )
        if self.target is None:
            columns["required_support_force"] = np.array(np.nan)
        notices = planar_notices(self, case, PlanarWedgeValues(**columns), converged=converged)
        values = PlanarWedgeValues(
            **{
                name: (column.reshape(shape) if column.ndim else column)[()]
                for name, column in columns.items()
            }
        )
        factors = {"sliding": np.broadcast_to(values.factor_of_safety, shape)[()]}
        return CheckResult(
            factors_of_safety=factors,
            values=values,
            notices=(
                *self.soil.strength.caveats,
                *target_notices(factors, self.target),
                *notices,
            ),
        )

    def factors_alone(self) -> dict[str, Numeric]:
        """Factors by limit state without the values of design, which are most of the work.

        Raises
        ------
        InputError
            As ``evaluate``.
        """
        if (curve := self.soil.strength.curve) is not None:
            return dict(self._along_curve(curve).factors_of_safety)
        shape, case = self._ready()
        columns, _ = _searched(case, int(np.prod(shape)))
        factor = columns["factor_of_safety"]
        factor = factor.reshape(shape) if factor.ndim else np.broadcast_to(factor, shape)
        return {"sliding": factor[()]}

    def _ready(self) -> tuple[tuple[int, ...], Case]:
        """The fields, held against their limits and against each other."""
        fields.validate(self)
        shape = self._shape()
        case = self._case(shape)
        refuse_impossible(self, case)
        return shape, case

    def _along_curve(self, curve: PowerCurve) -> CheckResult:
        """The factor on a curved envelope, at the normal stress of the plane itself."""
        result = along_tangents(self, curve, lambda line: line._along_line(design=False))
        # a tangent flatters every plane but its own, so it may not design another slope
        nothing = np.full(np.shape(result.lowest), np.nan)[()]
        values = dataclasses.replace(result.values, **dict.fromkeys(_DESIGNED, nothing))
        return dataclasses.replace(result, values=values)

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
        fields.validate(self)
        case = self._case(self._shape())
        refuse_impossible(self, case)
        if not _alone(case):
            raise InputError("planar_wedge", "arrays", "all but the strength must be scalar")
        return strength_law(case)

    def _shape(self) -> tuple[int, ...]:
        amounts = [
            getattr(self, name)
            for name, declaration, _ in fields.of(self)
            if isinstance(declaration, fields.Amount)
        ]
        strength = self.soil.strength
        amounts += [strength.cohesion, strength.friction_angle, self.soil.unit_weight]
        return np.broadcast_shapes(*(np.shape(value) for value in amounts if value is not None))

    def _case(self, shape: tuple[int, ...]) -> Case:
        def flat(value: Numeric) -> Numeric:
            array = np.asarray(value, dtype=float)
            if array.size == 1:
                return float(array.reshape(()))
            return np.broadcast_to(array, shape).reshape(-1)

        def flat_or_none(value: Numeric | None) -> Numeric | None:
            return None if value is None else flat(value)

        if self.ground_line is not None:
            if self.height is not None or self.face_angle is not None:
                raise InputError(
                    "ground_line", self.ground_line, "give it instead of height and face_angle"
                )
            if np.any(np.asarray(self.upper_slope_angle) != 0.0):
                raise InputError(
                    "upper_slope_angle", self.upper_slope_angle, "leave it out beside a ground_line"
                )
            slope: Slope = GroundLine.of(self.ground_line)
        else:
            for name in ("height", "face_angle"):
                if getattr(self, name) is None:
                    raise InputError(name, None, "give height and face_angle, or a ground_line")
            slope = StraightSlope(
                height=flat(self.height),  # type: ignore[arg-type]
                face_angle=flat(self.face_angle),  # type: ignore[arg-type]
                upper_slope_angle=flat(self.upper_slope_angle),
            )
        loads = Loads(
            unit_weight=flat(self.soil.unit_weight),
            water_unit_weight=flat(self.water_unit_weight),
            surcharge=flat(self.surcharge),
            seismic_coefficient=flat(self.horizontal_seismic_coefficient),
            support_force=flat(self.support_force),
            support_angle=flat(self.support_angle),
            crack_water_depth=flat(self._water_depth),
            pore_pressure_ratio=flat(self.pore_pressure_ratio),
        )
        return Case(
            slope=slope,
            loads=loads,
            cohesion=flat(self.soil.strength.cohesion),
            tan_friction_angle=flat(self.soil.strength.tan_friction_angle),
            plane_angle=flat_or_none(self.plane_angle),
            crack_distance=flat_or_none(self.tension_crack_distance),
            search_crack=self.search_tension_crack,
            open_crack=flat(self._open_crack()),
        )

    @property
    def _water_depth(self) -> Numeric:
        """Depth of water in the crack [m]; ``inf`` where it is brim-full at any depth."""
        depth = self.tension_crack_water_depth
        return np.inf if isinstance(depth, str) else depth

    def _open_crack(self) -> Numeric:
        """Depth to which the strength, of a curve its tangent, holds a crack open [m]."""
        return open_crack_depth(
            self.soil.strength.cohesion,
            self.soil.strength.tan_friction_angle,
            unit_weight=self.soil.unit_weight,
            water_unit_weight=self.water_unit_weight,
            water_depth=self._water_depth,
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
        found = self._design(case, int(np.prod(shape)))
        return PlanarLimits(**{name: value.reshape(shape)[()] for name, value in found.items()})

    def _design(self, case: Case, size: int) -> dict[str, NDArray[np.float64]]:
        target = np.asarray(1.0 if self.target is None else self.target, dtype=float)
        target = np.broadcast_to(target, self._shape()).reshape(-1)
        return {name: getattr(planar_design, name)(case, target, size) for name in _DESIGNED}


def force_polygon(
    wedge: PlanarWedge, values: PlanarWedgeValues
) -> dict[str, tuple[Numeric, Numeric]]:
    """All forces on the block at the reported factor, which close to nothing.

    Returns
    -------
    dict
        Name of the force to its components [kN/m]: into the slope, and upward. The shear
        is the strength divided by the factor; where the factor is ``inf`` it is zero and
        the polygon stays open.
    """
    psi, alpha = np.radians(values.plane_angle), np.radians(wedge.support_angle)
    sin, cos = np.sin(psi), np.cos(psi)
    shear = np.asarray(values.shear_strength_force) / values.factor_of_safety
    force = np.asarray(wedge.support_force)
    return {
        "weight": (0.0, -np.asarray(values.weight)),
        "seismic": (-np.asarray(values.seismic_force), 0.0),
        "crack_thrust": (-np.asarray(values.crack_thrust), 0.0),
        "uplift": (-values.uplift * sin, values.uplift * cos),
        "support": (force * np.cos(alpha), -force * np.sin(alpha)),
        "normal": (-values.normal_force * sin, values.normal_force * cos),
        "mobilised_shear": (shear * cos, shear * sin),
    }


def _alone(case: Case) -> bool:
    """Whether nothing but the strength is an array."""
    slope = case.slope
    parts = [case.plane_angle, case.crack_distance]
    parts += [getattr(case.loads, name) for name in Loads.__dataclass_fields__]
    if isinstance(slope, StraightSlope):
        parts += [slope.height, slope.face_angle, slope.upper_slope_angle]
    return all(part is None or np.ndim(part) == 0 for part in parts)


def _finder(case: Case, size: int) -> Callable[[Case, int], Surface]:
    searched = case.plane_angle is None or case.search_crack
    if searched and size > _BY_STRENGTH and _alone(case):
        return SurfacesByStrength.of(case).at
    return critical_surface


def _searched(case: Case, size: int) -> tuple[dict[str, NDArray[np.float64]], bool]:
    """Every value on the plane that governs each slope, and whether each search came home."""
    find = _finder(case, size)
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
                f"{float(np.min(case.deepest_crack)):.2f} m, what the strength holds open or half "
                "the height: give more of the ground behind the crest, or a tension_crack_distance",
            )
        for name, value in _on_surface(own, surface).items():
            array = np.asarray(value, dtype=float)
            if name not in columns:
                columns[name] = np.empty(size if array.ndim else ())
            columns[name][part if array.ndim else ...] = array
    return columns, converged


def _on_surface(case: Case, surface: Surface) -> dict[str, Numeric]:
    angle = surface.plane_angle if case.plane_angle is None else case.plane_angle
    forces = block_forces(
        case.slope,
        case.loads,
        case.cohesion,
        case.tan_friction_angle,
        np.tan(np.radians(angle)),
        surface.crack_x,
    )
    if surface.crack_x is None:
        distance: Numeric = np.nan
    elif case.search_crack:
        distance = surface.crack_x - case.slope.crest_x
    else:
        distance = case.crack_distance  # type: ignore[assignment]
    found: dict[str, Numeric] = {
        "plane_angle": angle,
        "crest_distance": case.slope.crest_x,
        "deepest_crack": case.deepest_crack if case.search_crack else np.nan,
        "tension_crack_distance": distance,
    }
    return found | {name: getattr(forces, name) for name in BlockForces.__dataclass_fields__}
