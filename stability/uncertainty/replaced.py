"""The same check with one of its inputs replaced, for all that varies one."""

from __future__ import annotations

import dataclasses
from typing import Any, TypeVar

from slipmargin.stability import fields
from slipmargin.stability.soil import Soil
from slipmargin.strength import InputError, Numeric, Pair, Strength

__all__ = [
    "SOIL_FIELDS",
    "no_pair",
    "with_field",
    "with_soil_field",
    "with_soil_strength",
    "with_strength",
]

Record = TypeVar("Record")

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

    def replaced(_: str, declaration: Any, held: Any) -> Any:
        named = isinstance(declaration, fields.SoilField) and held.name == name
        return _soil_with(held, field, value) if named else held

    return fields.changed(record, replaced)


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
    >>> from slipmargin.stability.uncertainty.replaced import with_field
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
