"""What an input is called in tables and pictures: words of the trade, not the path typed."""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["field_words", "soil_words"]

_SYMBOLS = {"cohesion": "c′", "friction_angle": "φ′"}
_OF_A_CHECK = re.compile(r"(.+?)\.([a-z_][a-z0-9_]*(?:\.[a-z0-9_]+)*)")


def field_words(path: str, *, label: str = "", labels: Iterable[str] = ()) -> str:
    """The words for a path, ``soils.NAME.FIELD`` or ``checks.LABEL.FIELD``; what is no path stays
    as it is. ``label`` is the check under which the words stand, which they need not name, and
    ``labels`` are the other checks there are, since a label may hold dots.

    Examples
    --------
    >>> from slipmargin.stability.uncertainty.field_words import field_words
    >>> field_words("soils.bank.friction_angle")
    'φ′ of bank'
    >>> field_words("checks.Cut face.height"), field_words("checks.Wall.wall.toe_width")
    ('height of Cut face', 'wall toe width of Wall')
    >>> field_words("checks.Cut face.height", label="Cut face")
    'height'
    """
    head, _, rest = path.partition(".")
    if head == "soils" and "." in rest:
        soil, _, field = rest.rpartition(".")
        return f"{_in_words(field)} of {soil_words(soil)}"
    if head != "checks":
        return path
    for one in sorted((label, *labels), key=len, reverse=True):
        if one and rest.startswith(f"{one}."):
            return _of(rest[len(one) + 1 :], one, label)
    found = _OF_A_CHECK.fullmatch(rest)
    return path if found is None else _of(found[2], found[1], label)


def soil_words(name: str) -> str:
    """The name of a soil as words: of ``drainage_sand`` that of drainage sand."""
    return name.replace("_", " ")


def _of(field: str, check: str, label: str) -> str:
    words = " ".join(_in_words(step) for step in field.split("."))
    return words if check == label else f"{words} of {check}"


def _in_words(step: str) -> str:
    # the first of a list is number 1
    return str(int(step) + 1) if step.isdigit() else _SYMBOLS.get(step, step.replace("_", " "))
