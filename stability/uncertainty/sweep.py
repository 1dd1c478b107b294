"""How factors of safety move with one input: a sweep and its break-even values.

A sweep is one call of the check with an array in one field. A break-even value is a root
of the factor less a level, found between two neighbours of the sweep and put back.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from slipmargin.stability import fields
from slipmargin.stability.check import Check, factors_alone, lowest_of
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric, Pair, Strength

__all__ = [
    "SOIL_FIELDS",
    "Sweep",
    "break_even",
    "no_pair",
    "sweep",
    "with_field",
    "with_soil_field",
    "with_soil_strength",
    "with_strength",
]

Record = TypeVar("Record")
Floats = NDArray[np.float64]

_NEAR = 1e-10  # of a break-even value
_SECANTS = 8

SOIL_FIELDS: dict[str, fields.Amount] = {
    "cohesion": fields.Amount("stress", "c′", "Effective cohesion.", low=0.0),
    "friction_angle": fields.Amount(
        "angle", "φ′", "Effective friction angle.", low=0.0, below=90.0
    ),
    "unit_weight": fields.Amount("unit_weight", "γ", "Unit weight above water.", above=0.0),
    "saturated_unit_weight": fields.Amount(
        "unit_weight", "γ_sat", "Unit weight below water.", above=0.0
    ),
}
"""Fields of a soil that can be varied."""


@dataclass(frozen=True, slots=True)
class Sweep:
    """Factors over the values of one input, by limit state."""

    values: Floats
    factors_of_safety: Mapping[str, Floats]

    @property
    def lowest(self) -> Floats:
        """Lowest factor over the limit states."""
        result: Floats = np.min(np.stack(list(self.factors_of_safety.values())), axis=0)
        return result

    @property
    def elasticity(self) -> Floats:
        """D ln F / d ln x of the lowest factor, by differences; nan where it has none."""
        positive = np.isfinite(self.lowest) & (self.lowest > 0.0) & (self.values > 0.0)
        factor = np.where(positive, self.lowest, np.nan)
        value = np.where(positive, self.values, np.nan)
        if value.size < 3:
            return np.full_like(value, np.nan)
        rate = np.gradient(np.log(factor), np.log(value), edge_order=2)
        return np.asarray(rate, dtype=float)


def with_soil_field(
    record: Record, name: str, field: str, value: Numeric | Pair | Strength
) -> Record:
    """The same check with one field of one soil replaced, wherever the soil stands in it.

    Parameters
    ----------
    record
        A check, or a group of fields in one.
    name, field
        Name of the soil and a key of ``SOIL_FIELDS``, or ``strength``.
    value
        Its new value, scalar or array; of ``strength`` a strength, or a pair in its place.

    Raises
    ------
    InputError
        Cohesion or friction angle of a curved envelope, which has none of its own.
    """
    changes: dict[str, Any] = {}
    for entry, declaration, _ in fields.of(record):
        held = getattr(record, entry)
        if held is None:
            continue
        match declaration:
            case fields.SoilField() if held.name == name:
                changes[entry] = _soil_with(held, field, value)
            case fields.Part(many=True):
                new = tuple(with_soil_field(one, name, field, value) for one in held)
                if any(a is not b for a, b in zip(new, held, strict=True)):
                    changes[entry] = new
            case fields.Part():
                part = with_soil_field(held, name, field, value)
                if part is not held:
                    changes[entry] = part
            case _:
                pass
    return dataclasses.replace(record, **changes) if changes else record  # type: ignore[type-var]


def with_strength(record: Record, name: str, strength: Strength | Pair) -> Record:
    """The same check with the strength of one soil replaced, wherever the soil stands in it.

    Parameters
    ----------
    record, name
        As in ``with_soil_field``.
    strength
        A strength, a curved envelope included; or a pair [kPa, deg], scalars or arrays, to
        which the tested range and the caveats of the strength that was there still hold.

    Examples
    --------
    >>> from slipmargin.stability import InfiniteSlope, Soil, with_strength
    >>> from slipmargin.strength import Pair, Strength
    >>> sand = Soil(
    ...     name="sand", strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0
    ... )
    >>> slope = InfiniteSlope(soil=sand, slope_angle=25.0, depth=2.0)
    >>> looser = with_strength(slope, "sand", Pair(0.0, 25.0))
    >>> round(float(looser.evaluate().lowest), 2)
    1.0
    """
    return with_soil_field(record, name, "strength", strength)


def with_soil_strength(
    record: Record, name: str, cohesion: Numeric, friction_angle: Numeric
) -> Record:
    """The same check with the strength of one soil, a curved one too, replaced by a pair.

    Parameters
    ----------
    record, name
        As in ``with_soil_field``.
    cohesion, friction_angle
        [kPa] and [deg], scalars or arrays.
    """
    return with_soil_field(record, name, "strength", Pair(cohesion, friction_angle))


def _soil_with(soil: Soil, field: str, value: Numeric | Pair | Strength) -> Soil:
    held = soil.strength
    match value:
        case Strength():
            strength = value
        case Pair():
            strength = held.with_pair(value, value="stated", cautious=None)
        case _ if field not in ("cohesion", "friction_angle"):
            return dataclasses.replace(soil, **{field: value})  # type: ignore[arg-type]
        case _ if held.curve is not None:
            raise no_pair(f"{soil.name}.{field}")
        case _:
            # no longer what its tests gave
            changes: dict[str, Any] = {field: value, "value": "stated", "cautious": None}
            strength = dataclasses.replace(held, **changes)
    return dataclasses.replace(soil, strength=strength)


def no_pair(place: str) -> InputError:
    """What is said where c′ or φ′ of a curved envelope is to be varied."""
    return InputError(
        place,
        "curved envelope",
        "it has no cohesion or friction angle of its own, and no straight line stands in for "
        'it; set envelope = "line" to ask this of a line',
    )


def with_field(record: Record, path: tuple[str, ...], value: Numeric) -> Record:
    """The same check with one declared quantity replaced.

    Parameters
    ----------
    record
        A check, or a group of fields in one.
    path
        Field name, preceded by the groups (and the place in a list) it stands in.
    value
        Its new value, scalar or array.

    Raises
    ------
    InputError
        No such quantity.

    Examples
    --------
    >>> from slipmargin.stability.uncertainty.sweep import with_field
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=25.0, depth=2.0)
    >>> with_field(slope, ("depth",), 3.0).depth
    3.0
    """
    known = {name: declaration for name, declaration, _ in fields.of(record)}
    head, rest = path[0], path[1:]
    declaration = known.get(head)
    held = getattr(record, head, None)
    match declaration:
        case fields.Amount() if not rest:
            return dataclasses.replace(record, **{head: value})  # type: ignore[type-var]
        case fields.Part(many=False) if rest and held is not None:
            new: Any = with_field(held, rest, value)
            return dataclasses.replace(record, **{head: new})  # type: ignore[type-var]
        case fields.Part(many=True) if len(rest) > 1 and rest[0].isdigit():
            index = int(rest[0])
            if index < len(getattr(record, head)):
                items = list(getattr(record, head))
                items[index] = with_field(items[index], rest[1:], value)
                return dataclasses.replace(record, **{head: tuple(items)})  # type: ignore[type-var]
    numeric = [name for name, kind in known.items() if isinstance(kind, fields.Amount)]
    raise InputError(head, ".".join(path), "numeric fields here: " + ", ".join(numeric))


def sweep(with_value: Callable[[Numeric], Check], values: Floats) -> Sweep:
    """Evaluate a check over the values of one input, in one call, without slow limit states.

    Parameters
    ----------
    with_value
        Gives the check with the input replaced.
    values
        Values of the input, shape (n,).

    Examples
    --------
    >>> import numpy as np
    >>> from slipmargin.stability.uncertainty.sweep import sweep, with_soil_field
    >>> from slipmargin.stability import InfiniteSlope, Soil
    >>> from slipmargin.strength import Strength
    >>> sand = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=18.0)
    >>> slope = InfiniteSlope(soil=sand, slope_angle=25.0, depth=2.0)
    >>> swept = sweep(
    ...     lambda angle: with_soil_field(slope, "soil", "friction_angle", angle),
    ...     np.array([25.0, 30.0, 35.0]),
    ... )
    >>> swept.factors_of_safety["sliding"].round(2).tolist()
    [1.0, 1.24, 1.5]
    """
    check = with_value(values)
    try:
        found = factors_alone(check)
    except InputError:  # a limit state without an answer is left out here
        found = check.evaluate(leave_out=check.SLOW).factors_of_safety
    return Sweep(
        values,
        {
            name: np.broadcast_to(np.asarray(factor, dtype=float), values.shape)
            for name, factor in found.items()
        },
    )


def break_even(
    with_value: Callable[[Numeric], Check],
    values: Floats,
    factors: Floats,
    level: float,
    limit_state: str | None = None,
    *,
    factors_of: Callable[[Check], Mapping[str, Numeric]] = factors_alone,
) -> float | None:
    """Value of the input at which the factor equals a level.

    Parameters
    ----------
    with_value
        Gives the check with the input replaced.
    values, factors
        A sweep over the input, which brackets the crossing.
    level
        Factor of safety looked for.
    limit_state
        Which factor; the lowest of them by default.
    factors_of
        Gives the factors of a check, such as that of one limit state alone.

    Returns
    -------
    float or None
        The crossing; of several the first in the order of ``values``; ``None`` where the
        sweep does not cross the level.
    """

    def gap(value: float) -> float:
        factors = factors_of(with_value(value))
        factor = lowest_of(factors) if limit_state is None else factors[limit_state]
        return float(factor) - level

    above = factors - level
    usable = np.isfinite(above)
    for i in range(len(values) - 1):
        if not (usable[i] and usable[i + 1]) or above[i] * above[i + 1] > 0.0:
            continue
        low, high = float(values[i]), float(values[i + 1])
        near = _near_root(gap, values, above, i)
        if near is not None:
            return near
        at_low, at_high = gap(low), gap(high)
        if at_low == 0.0:
            return low
        if at_high == 0.0:
            return high
        if at_low * at_high < 0.0:
            return float(brentq(gap, low, high, xtol=_NEAR, rtol=1e-11))
    return None


def _near_root(
    gap: Callable[[float], float], values: Floats, above: Floats, i: int
) -> float | None:
    """Root between a value of a sweep and the next, by secants from where the sweep's own curve
    crosses; ``None`` where they leave the two values or do not settle, as at a jump.
    """
    low, high = float(values[i]), float(values[i + 1])
    beside = slice(max(i - 1, 0), i + 3)
    x, y = values[beside], above[beside]
    steps = np.diff(y)
    if not (np.all(steps > 0.0) or np.all(steps < 0.0)):
        x, y = values[i : i + 2], above[i : i + 2]
        steps = np.diff(y)
    if not np.all(np.isfinite(y)) or not np.all(steps):
        return None
    # the polynomial of x through these values of y, at y = 0 (Lagrange), and the rate there
    apart = np.where(np.eye(len(y), dtype=bool), 1.0, y[:, None] - y)
    at_zero = np.where(np.eye(len(y), dtype=bool), 1.0, -y)
    last = float(np.sum(x * np.prod(at_zero / apart, axis=1)))
    rate = float((above[i + 1] - above[i]) / (high - low))
    gap_last = gap(last) if low <= last <= high else np.nan
    for _ in range(_SECANTS):
        root = last - gap_last / rate
        if not low <= root <= high:
            return None
        if abs(root - last) <= _NEAR:
            return root
        gap_root = gap(root)
        if gap_root == gap_last:
            return None
        rate = (gap_root - gap_last) / (root - last)
        last, gap_last = root, gap_root
    return None
