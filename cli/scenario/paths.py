"""Paths that name a field of a scenario: ``soils.NAME.FIELD`` and ``checks.LABEL.FIELD``.

Names and labels may hold dots themselves: of those that begin what follows, the longest is meant.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from slipmargin.cli.scenario.readers import nearest
from slipmargin.strength import InputError

__all__ = ["FieldPath", "field_path"]


@dataclass(frozen=True, slots=True)
class FieldPath:
    """A path in its parts: a soil or the label of a check, the other empty, and the field.

    The last of ``steps`` is the field; before it stand its groups, an index for one of a list.
    """

    soil: str
    label: str
    steps: tuple[str, ...]

    @property
    def field(self) -> str:
        """The steps as they are written."""
        return ".".join(self.steps)


def field_path(text: str, soils: Iterable[str], labels: Iterable[str], *, place: str) -> FieldPath:
    """Take a path apart, by the soils and the labels that a scenario holds.

    Raises
    ------
    InputError
        A soil or a check that the scenario does not hold, no field, or another form.

    Examples
    --------
    >>> from slipmargin.cli.scenario.paths import field_path
    >>> field_path("checks.Cut, 1.5 m.wall.height", ["bank"], ["Cut, 1.5 m"], place="vary").steps
    ('wall', 'height')
    """
    head, _, rest = text.partition(".")
    known = {"soils": soils, "checks": labels}.get(head)
    if known is None:
        raise InputError(place, text, "write soils.NAME.FIELD or checks.LABEL.FIELD")
    names = sorted(known, key=len, reverse=True)
    name = next((one for one in names if rest.startswith(f"{one}.")), None)
    if name is None:
        if rest in names:
            raise InputError(place, text, f"name a field of it: {head}.{rest}.FIELD")
        hint = nearest(rest.split(".")[0], sorted(names))
        raise InputError(place, text, f"unknown {head.removesuffix('s')}; {hint}")
    steps = tuple(rest[len(name) + 1 :].split("."))
    return FieldPath(*((name, "") if head == "soils" else ("", name)), steps)
