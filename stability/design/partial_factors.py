"""Partial factors: sets of them as data, and what they make of a strength.

A set multiplies actions (or their effects) and divides strengths and resistances:

    c′_d = c′ / γ_c′,    φ′_d = atan(tan φ′ / γ_φ′),    R_d = R / γ_R

The tables are the recommended values of EN 1997-1:2004, Annex A; a national annex may
replace any of them, and its values are then given as a set of one's own. Which set applies
is not decided here.

Soil with φ′ = 0 has its strength stated in total stress; it takes the factor of the
undrained strength, which is the larger one in the tables. A curved envelope is divided as a
whole, by the larger of γ_c′ and γ_φ′.

Sources: EN 1997-1:2004, Tables A.3, A.4, A.13 and A.14; from memory: the combinations of
2.4.7.3.4 and Tables A.1 and A.2.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength import InputError, Numeric, Pair, Strength

__all__ = [
    "ACTIONS",
    "DESIGN_APPROACHES",
    "EQUILIBRIUM",
    "RECOMMENDED",
    "SLOPE_RESISTANCES",
    "STRENGTHS",
    "SYMBOLS",
    "WALL_RESISTANCES",
    "FactorSet",
    "cohesion_factor",
    "design_cohesion",
    "design_friction_angle",
    "design_strength",
    "factor_set",
    "own_factor_set",
]

Table = dict[str, dict[str, float]]

ACTIONS: Table = {
    "A1": {
        "permanent_unfavourable": 1.35,
        "permanent_favourable": 1.0,
        "variable_unfavourable": 1.5,
        "variable_favourable": 0.0,
    },
    "A2": {
        "permanent_unfavourable": 1.0,
        "permanent_favourable": 1.0,
        "variable_unfavourable": 1.3,
        "variable_favourable": 0.0,
    },
}
"""On actions or their effects, STR and GEO: EN 1997-1:2004, Table A.3."""

STRENGTHS: Table = {
    "M1": {"tan_friction_angle": 1.0, "cohesion": 1.0, "undrained_strength": 1.0},
    "M2": {"tan_friction_angle": 1.25, "cohesion": 1.25, "undrained_strength": 1.4},
}
"""On soil parameters, STR and GEO: EN 1997-1:2004, Table A.4. Unit weights take 1.0."""

WALL_RESISTANCES: Table = {
    "R1": {"bearing": 1.0, "sliding": 1.0, "earth_resistance": 1.0},
    "R2": {"bearing": 1.4, "sliding": 1.1, "earth_resistance": 1.4},
    "R3": {"bearing": 1.0, "sliding": 1.0, "earth_resistance": 1.0},
}
"""On resistances of retaining structures: EN 1997-1:2004, Table A.13."""

SLOPE_RESISTANCES: Table = {
    "R1": {"slope_resistance": 1.0},
    "R2": {"slope_resistance": 1.1},
    "R3": {"slope_resistance": 1.0},
}
"""On the earth resistance of slopes and overall stability: EN 1997-1:2004, Table A.14."""

DESIGN_APPROACHES: dict[str, tuple[str, str, str]] = {
    "DA1-1": ("A1", "M1", "R1"),
    "DA1-2": ("A2", "M2", "R1"),
    "DA2": ("A1", "M1", "R2"),
    "DA3": ("A2", "M2", "R3"),
}
"""Tables combined: EN 1997-1:2004, 2.4.7.3.4 (from memory). In DA3 the A2 of ground actions;
structural ones, here the weight of a wall, take A1."""

SYMBOLS = {
    "permanent_unfavourable": "γ_G",
    "permanent_favourable": "γ_Gf",
    "structural_permanent_unfavourable": "γ_Gs",
    "variable_unfavourable": "γ_Q",
    "variable_favourable": "γ_Qf",
    "sliding": "γ_Rh",
    "bearing": "γ_Rv",
    "earth_resistance": "γ_Re",
    "slope_resistance": "γ_Re",
}
"""How the factors on actions and resistances are written in a working."""

_EN_1997 = "EN 1997-1:2004, Annex A, recommended values"
_RECALLED = "the combinations of EN 1997-1:2004, 2.4.7.3.4"


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorSet:
    """One set of partial factors [-].

    Parameters
    ----------
    name, source
        As the reader knows it, and where the values come from.
    permanent_unfavourable, permanent_favourable
        γ_G on permanent actions.
    variable_unfavourable, variable_favourable
        γ_Q on variable actions.
    tan_friction_angle, cohesion, undrained_strength
        γ_φ′, γ_c′ and γ_cu; the last is that of the cohesion where none is given.
    bearing, sliding, earth_resistance, slope_resistance
        γ_R;v, γ_R;h, γ_R;e (passive) and γ_R;e of slopes.
    structural_permanent_unfavourable
        γ_G on the weight of a wall, where it differs from that of the ground.
    equilibrium
        The set for overturning (loss of static equilibrium); ``None`` takes
        ``EQUILIBRIUM``.
    from_memory
        What of it was recalled and not read; empty where nothing was.

    Raises
    ------
    InputError
        A factor not above zero (a favourable variable one may be zero), or a favourable one
        above its unfavourable one.
    """

    name: str
    permanent_unfavourable: float
    permanent_favourable: float
    variable_unfavourable: float
    tan_friction_angle: float
    cohesion: float
    bearing: float
    sliding: float
    earth_resistance: float
    slope_resistance: float
    variable_favourable: float = 0.0
    undrained_strength: float | None = None
    structural_permanent_unfavourable: float | None = None
    equilibrium: FactorSet | None = None
    source: str = ""
    from_memory: str = ""

    def __post_init__(self) -> None:
        for name, value in self.factors.items():
            free = name == "variable_favourable"
            if not np.isfinite(value) or value < 0.0 or (value == 0.0 and not free):
                raise InputError(name, value, "allowed: from 0" if free else "allowed: above 0")
        for kind in ("permanent", "variable"):
            favourable = getattr(self, f"{kind}_favourable")
            most = getattr(self, f"{kind}_unfavourable")
            if favourable > most:
                raise InputError(
                    f"{kind}_favourable", favourable, f"allowed: up to the unfavourable {most:g}"
                )

    @property
    def factors(self) -> dict[str, float]:
        """Every factor by name, with what an omitted one stands for."""
        named = {name: getattr(self, name) for name in _FACTORS}
        if self.undrained_strength is None:
            named["undrained_strength"] = self.cohesion
        if self.structural_permanent_unfavourable is None:
            named["structural_permanent_unfavourable"] = self.permanent_unfavourable
        return named

    @property
    def overturning(self) -> FactorSet:
        """The set that overturning is held to."""
        return EQUILIBRIUM if self.equilibrium is None else self.equilibrium


_TEXTS = ("name", "source", "from_memory", "equilibrium")
_FACTORS = tuple(f.name for f in dataclasses.fields(FactorSet) if f.name not in _TEXTS)
_OPTIONAL = ("variable_favourable", "undrained_strength", "structural_permanent_unfavourable")
_NEEDED = tuple(name for name in _FACTORS if name not in _OPTIONAL)

EQUILIBRIUM = FactorSet(
    name="EQU",
    permanent_unfavourable=1.1,
    permanent_favourable=0.9,
    variable_unfavourable=1.5,
    tan_friction_angle=1.25,
    cohesion=1.25,
    undrained_strength=1.4,
    bearing=1.0,
    sliding=1.0,
    earth_resistance=1.0,
    slope_resistance=1.0,
    source="EN 1997-1:2004, Tables A.1 and A.2, recommended values",
    from_memory="the factors of EN 1997-1:2004, Tables A.1 and A.2, for overturning",
)
"""Loss of static equilibrium: EN 1997-1:2004, Tables A.1 and A.2 (from memory)."""


def _combined(name: str) -> FactorSet:
    actions, strengths, resistances = DESIGN_APPROACHES[name]
    values: dict[str, Any] = ACTIONS[actions] | STRENGTHS[strengths]
    values |= WALL_RESISTANCES[resistances] | SLOPE_RESISTANCES[resistances]
    if name == "DA3":
        values["structural_permanent_unfavourable"] = ACTIONS["A1"]["permanent_unfavourable"]
    tables = f"{actions}+{strengths}+{resistances}"
    return FactorSet(name=name, source=f"{_EN_1997}, {tables}", from_memory=_RECALLED, **values)


RECOMMENDED: dict[str, FactorSet] = {name: _combined(name) for name in DESIGN_APPROACHES}
"""The sets of EN 1997-1:2004, Annex A, by design approach."""


def own_factor_set(
    name: str, factors: Mapping[str, Any], source: str = "stated by the user"
) -> FactorSet:
    """A set of one's own, such as a national annex.

    Parameters
    ----------
    name
        Not one of ``RECOMMENDED``.
    factors
        Factor by name, as in ``FactorSet``. ``variable_favourable``, ``undrained_strength``
        and ``structural_permanent_unfavourable`` may be left out. ``equilibrium`` is a
        mapping of the same kind.
    source
        Where the values come from.

    Raises
    ------
    InputError
        A name that is taken, a factor that is missing, unknown or not a number.
    """
    if name in RECOMMENDED:
        raise InputError(name, "a set of your own", "choose another name: EN 1997-1 has this one")
    given = dict(factors)
    own = given.pop("equilibrium", None)
    for key, value in given.items():
        if key not in _FACTORS:
            raise InputError(f"{name}.{key}", value, "allowed: " + ", ".join(_FACTORS))
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(f"{name}.{key}", value, "a bare number is wanted")
    for key in _NEEDED:
        if key not in given:
            raise InputError(f"{name}.{key}", "nothing", "give every factor of the set")
    equilibrium = None if own is None else own_factor_set(f"{name}.equilibrium", own, source)
    try:
        return FactorSet(name=name, source=source, equilibrium=equilibrium, **given)
    except InputError as error:
        raise error.within(name) from None


def factor_set(name: str, own: Mapping[str, FactorSet] | None = None) -> FactorSet:
    """The set of a name, out of the recommended ones and one's own; ``InputError``: no such set."""
    known = RECOMMENDED | dict(own or {})
    if name not in known:
        raise InputError("sets", name, "allowed: " + ", ".join(known))
    return known[name]


def design_cohesion(cohesion: Numeric, factor: Numeric) -> NDArray[np.float64]:
    """c′ / γ_c′ [kPa]."""
    return np.asarray(np.asarray(cohesion, dtype=float) / factor)[()]


def design_friction_angle(friction_angle: Numeric, factor: Numeric) -> NDArray[np.float64]:
    """atan(tan φ′ / γ_φ′) [deg]; a factor of 1 leaves the angle as it is."""
    angle = np.asarray(friction_angle, dtype=float)
    reduced = np.degrees(np.arctan(np.tan(np.radians(angle)) / factor))
    return np.asarray(np.where(np.asarray(factor) == 1.0, angle, reduced))[()]


def cohesion_factor(strength: Strength, factors: FactorSet) -> NDArray[np.float64]:
    """Factor on the cohesion: γ_cu where φ′ = 0, γ_c′ elsewhere; one factor along a curve."""
    if strength.curve is not None:
        return np.asarray(max(factors.cohesion, factors.tan_friction_angle))
    total_stress = np.asarray(strength.friction_angle) == 0.0
    by_name = factors.factors
    return np.where(total_stress, by_name["undrained_strength"], by_name["cohesion"])[()]


def design_strength(strength: Strength, factors: FactorSet) -> Strength:
    """The strength divided by its partial factors, with the caveats of its origin."""
    by = cohesion_factor(strength, factors)
    if strength.curve is not None:
        curve = dataclasses.replace(strength.curve, coefficient=strength.curve.coefficient / by)
        return Strength.from_curve(curve, caveats=strength.caveats)
    angle = design_friction_angle(strength.friction_angle, factors.tan_friction_angle)
    tan = strength.tan_friction_angle / factors.tan_friction_angle
    pair = Pair(design_cohesion(strength.cohesion, by), angle, known_tangent=(angle, tan))
    return strength.with_pair(pair, cautious=None)
