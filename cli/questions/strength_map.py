"""The strength map of one soil, and back-analysis of a failed slope."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.as_json import SCHEMA, by_state, notices, number, targets_asked
from slipmargin.cli.files import table_csv
from slipmargin.cli.questions.as_used import quick
from slipmargin.cli.questions.joint_region import CONFIDENCE, Outline, over_outline, region_of
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.utilisations import (
    Levels,
    answers,
    highest,
    level_columns,
    level_fields,
    level_headers,
    levels_of,
    parted,
    room,
)
from slipmargin.cli.scenario.read import CheckEntry, FileError, Scenario, SoilEntry
from slipmargin.cli.scenario.schema import nearest
from slipmargin.cli.words import CAUTION
from slipmargin.stability import Check
from slipmargin.stability.uncertainty.strength_map import factor_line, factor_map
from slipmargin.stability.uncertainty.sweep import no_pair, with_soil_strength
from slipmargin.strength import InputError, Notice, Pair

__all__ = [
    "FailedSlope",
    "StrengthMap",
    "back_analysis_csv",
    "back_analysis_document",
    "explain_failure",
    "map_strength",
    "strength_map_csv",
    "strength_map_document",
]


_REACHES = ((1.0, 0.0), (1.5, 3.0), (2.2, 6.0))
"""How many times higher, and how many degrees further, a map reaches to show what is met."""


@dataclass(frozen=True, slots=True)
class RegionOnMap:
    """How the 95 % joint region lies to the line on which a check meets what is asked.

    ``meets`` says for how much of its outline it is met: ``all``, ``none`` or ``part``, and
    ``crosses`` where the outline crosses the line.
    """

    meets: str
    crosses: tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class StrengthMap:
    """Factors of every check over the strength of one soil.

    A curved envelope is no point of that plane, and has no map.
    """

    soil: SoilEntry
    entries: Mapping[str, CheckEntry]
    cohesion: Any
    friction_angle: Any
    factors: Mapping[str, Mapping[str, Any]]
    regions: Mapping[str, tuple[Any, Any]]
    points: Mapping[str, Pair]
    notices: Mapping[str, tuple[Notice, ...]]
    levels: Mapping[str, Levels]
    highest_at_points: Mapping[str, Any]
    region: Mapping[str, RegionOnMap]


def map_strength(
    scenario: Scenario, name: str, *, cells: int = 61, axes: tuple[Any, Any] | None = None
) -> StrengthMap:
    """Factors over a grid that holds the joint region of the fit and every known point.

    ``axes`` are cohesions [kPa] and friction angles [deg] to take in place of that grid.

    Raises
    ------
    FileError
        A soil that does not exist, that no check uses, or of a curved envelope.
    """
    if name not in scenario.soils:
        hint = nearest(name, list(scenario.soils))
        raise FileError(scenario.path, InputError("--soil", name, f"unknown soil; {hint}"))
    entries = [e for e in scenario.checks if name in e.soils.values() and e.check.LIMIT_STATES]
    if not entries:
        problem = InputError("--soil", name, "no check with a factor of safety uses this soil")
        raise FileError(scenario.path, problem)
    soil = scenario.soils[name]
    if soil.soil.strength.curve is not None:
        raise FileError(scenario.path, no_pair(f"soils.{name}"))
    regions = _regions(soil)
    points = _points(soil)
    cohesion, angle = axes or _axes(
        regions, points, cells, lambda c, phi: _all_met(scenario, entries, name, c, phi)
    )
    factors: dict[str, dict[str, Any]] = {}
    levels: dict[str, dict[str, dict[str, Any]]] = {}
    said: dict[str, tuple[Notice, ...]] = {}
    at_points: dict[str, list[Any]] = {}
    lies: dict[str, RegionOnMap] = {}
    outline = region_of(soil)
    pairs = [
        np.array([float(getattr(p, one)) for p in points.values()])
        for one in ("cohesion", "friction_angle")
    ]
    for entry in entries:
        try:
            answer = answers(scenario, entry.check)
            found = _map_or_gaps(entry.check, name, cohesion, angle, answer)
            factors[entry.label], levels[entry.label] = parted(found)
            said[entry.label] = owed(scenario, entry, factors[entry.label], by_sets=True)
            along = None if outline is None else over_outline(scenario, entry, outline)
        except InputError as error:
            raise FileError(scenario.path, error.within(f"checks ({entry.label})")) from None
        left = None if along is None else room(entry, *parted(along))
        if outline is not None and left is not None:
            lies[entry.label] = _region_on_map(outline, left)
        there = levels_of(scenario, with_soil_strength(entry.check, name, *pairs))
        for set_name, states in there.items():
            at_points.setdefault(set_name, []).append(highest(states))
    return StrengthMap(
        soil,
        {entry.label: entry for entry in entries},
        cohesion,
        angle,
        factors,
        regions,
        points,
        said,
        levels,
        {
            set_name: np.max(np.stack(np.broadcast_arrays(*found)), axis=0)
            for set_name, found in at_points.items()
        },
        lies,
    )


def _region_on_map(outline: Outline, room: Any) -> RegionOnMap:
    """Where the outline crosses the line on which there is no room left."""
    met = np.nan_to_num(room, nan=0.0) >= 1.0
    if np.all(met) or not np.any(met):
        return RegionOnMap("all" if met[0] else "none", ())
    here = np.flatnonzero(met[:-1] != met[1:])
    above, below = room[here] - 1.0, room[here + 1] - 1.0
    with np.errstate(invalid="ignore"):
        share = np.where(np.isfinite(above / (above - below)), above / (above - below), 0.5)
    c, phi = (one[here] + share * (one[here + 1] - one[here]) for one in outline.pairs)
    return RegionOnMap("part", tuple(Pair(float(a), float(b)) for a, b in zip(c, phi, strict=True)))


def _map_or_gaps(
    check: Check,
    name: str,
    cohesion: Any,
    angle: Any,
    answer: Callable[[Check], Mapping[Any, Any]],
) -> dict[Any, Any]:
    """The map of one check; angles its theory refuses (below the backfill slope) are nan."""
    try:
        return dict(factor_map(check, name, cohesion, angle, answer))
    except InputError as whole:
        rows: dict[int, Mapping[Any, Any]] = {}
        for index in range(angle.size):
            try:
                one = angle[index : index + 1]
                rows[index] = factor_map(check, name, cohesion, one, answer)
            except InputError:
                continue
        if not rows:
            raise whole from None
    states = next(iter(rows.values()))
    filled = {state: np.full((cohesion.size, angle.size), np.nan) for state in states}
    for index, row in rows.items():
        for state, values in row.items():
            filled[state][:, index] = values[:, 0]
    return filled


def _regions(soil: SoilEntry) -> dict[str, tuple[Any, Any]]:
    outlines = {level: region_of(soil, level) for level in (0.5, CONFIDENCE)}
    return {f"{level:.0%}": one.pairs for level, one in outlines.items() if one is not None}


def _points(soil: SoilEntry) -> dict[str, Pair]:
    strength = soil.soil.strength
    used = Pair(float(strength.cohesion), float(strength.friction_angle))
    points = {"as used": used}
    if soil.fit is not None:
        points["best fit"] = soil.fit.best_fit
        if soil.fit.cautious is not None:
            points["cautious"] = soil.fit.cautious
    for who, pair in soil.stated_by.items():
        points[f"stated by {who}"] = pair
    return points


def _axes(
    regions: Mapping[str, tuple[Any, Any]],
    points: Mapping[str, Pair],
    cells: int,
    met: Callable[[float, float], bool],
) -> tuple[Any, Any]:
    """Axes that hold the regions, the points and, if it is not far away, the area in which all
    that is asked is ``met``.
    """
    c = [float(p.cohesion) for p in points.values()]
    phi = [float(p.friction_angle) for p in points.values()]
    for outline in regions.values():
        # a region wider than any soil would hide the part that matters
        c += [min(float(v), 150.0) for v in outline[0]]
        phi += [min(max(float(v), 5.0), 60.0) for v in outline[1]]
    top = max(1.25 * max(c), 10.0)
    middle = float(points["as used"].friction_angle)
    low = max(min(min(phi) - 2.0, middle - 8.0), 1.0)
    high = min(max(max(phi) + 2.0, middle + 8.0), 70.0)
    for wider, further in _REACHES:
        if met(wider * top, min(high + further, 70.0)):
            top, high = wider * top, min(high + further, 70.0)
            break
    return np.linspace(0.0, top, cells), np.linspace(low, high, cells)


def _all_met(
    scenario: Scenario, entries: Sequence[CheckEntry], soil: str, cohesion: float, angle: float
) -> bool:
    """Whether one strength of a soil meets all that is asked of the checks that stand on it."""
    for entry in entries:
        moved = with_soil_strength(entry.check, soil, cohesion, angle)
        try:
            found = room(entry, *parted(answers(scenario, entry.check)(moved)))
        except InputError:
            return False
        if found is not None and not float(found) >= 1.0:
            return False
    return True


def strength_map_document(found: StrengthMap) -> dict[str, Any]:
    """The document of ``strength-map``; factors are rows of cohesion, columns of angle."""
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "soil": found.soil.name,
        "cohesion_kpa": number(found.cohesion),
        "friction_angle_deg": number(found.friction_angle),
        "points": {
            name: {
                "cohesion_kpa": number(p.cohesion),
                "friction_angle_deg": number(p.friction_angle),
            }
            for name, p in found.points.items()
        },
        "regions": {
            level: {"cohesion_kpa": number(c), "friction_angle_deg": number(phi)}
            for level, (c, phi) in found.regions.items()
        },
        "checks": [
            {
                "label": label,
                "notices": notices(found.notices[label]),
                **targets_asked(found.entries[label]),
                **_region_document(found.region.get(label)),
                "factors_of_safety": by_state(factors),
                **level_fields(found.levels[label]),
            }
            for label, factors in found.factors.items()
        ],
    }


def _region_document(one: RegionOnMap | None) -> dict[str, Any]:
    if one is None:
        return {}
    crosses = [
        {
            "cohesion_kpa": number(pair.cohesion),
            "friction_angle_deg": number(pair.friction_angle),
        }
        for pair in one.crosses
    ]
    return {"region": {"meets": one.meets, "crosses": crosses}}


def strength_map_csv(found: StrengthMap) -> str:
    """One row a pair, check and limit state."""
    header = ["cohesion_kpa", "friction_angle_deg", "check", "limit_state", "factor_of_safety"]
    sets = level_headers(list(found.levels.values()))
    rows = [
        [float(c), float(phi), label, state, float(grid[i, j])]
        + [
            None if level is None else float(level[i, j])
            for level in level_columns(found.levels[label], state, sets)
        ]
        for label, factors in found.factors.items()
        for state, grid in factors.items()
        for i, c in enumerate(found.cohesion)
        for j, phi in enumerate(found.friction_angle)
    ]
    return table_csv([*header, *(f"utilisation {name}" for name in sets)], rows)


@dataclass(frozen=True, slots=True)
class FailedSlope:
    """Pairs that give a slope a factor of 1, and the strength map around them.

    ``pairs`` are cohesions [kPa] and friction angles [deg] by limit state, sliding the first.
    """

    label: str
    soil: str
    pairs: Mapping[str, tuple[Any, Any]]
    around: StrengthMap

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What must not be parted from the pairs."""
        found = self.around.notices[self.label]
        if "rotation" not in self.pairs:
            return found
        return (
            Notice.caution(
                "plane-back-analysed",
                "These pairs are those of the searched plane. The rotation of the same slope "
                "needs more strength: a slope that failed had at most the strengths of the "
                "rotation, which are given as well.",
            ),
            *found,
        )


def explain_failure(scenario: Scenario, label: str, soil: str | None = None) -> FailedSlope:
    """The pairs of strength of one soil, by default the first, that give a slope a factor of 1.

    Raises
    ------
    FileError
        A check that does not exist, is no slope, or does not have the soil; a soil of a curved
        envelope.
    """
    entries = {entry.label: entry for entry in scenario.checks}
    if label not in entries:
        hint = nearest(label, list(entries))
        raise FileError(scenario.path, InputError("--check", label, f"unknown check; {hint}"))
    entry = entries[label]
    slopes = [e for e in scenario.checks if e.check.STRUCTURE == "slope"]
    if entry not in slopes:
        allowed = "name a slope: " + (", ".join(e.label for e in slopes) or "there is none")
        raise FileError(scenario.path, InputError("--check", label, allowed))
    known = list(dict.fromkeys(entry.soils.values()))
    if soil is not None and soil not in known:
        raise FileError(scenario.path, InputError("--soil", soil, nearest(soil, known)))
    soil = known[0] if soil is None else soil
    if scenario.soils[soil].soil.strength.curve is not None:
        raise FileError(scenario.path, no_pair(f"soils.{soil}"))
    angles = np.linspace(0.5, 60.0, 120)
    try:
        pairs = {
            state: factor_line(entry.check, soil, angles, limit_state=state)
            for state in quick(entry.check)
        }
    except InputError as error:
        raise FileError(scenario.path, error.within(f"checks ({label})")) from None
    return FailedSlope(label, soil, pairs, map_strength(scenario, soil))


def back_analysis_document(found: FailedSlope) -> dict[str, Any]:
    """The document of ``back-analysis``."""
    by_state = {
        state: [
            {"cohesion_kpa": float(a), "friction_angle_deg": float(b)}
            for a, b in zip(*pairs, strict=True)
        ]
        for state, pairs in found.pairs.items()
    }
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "label": found.label,
        "soil": found.soil,
        "pairs": by_state["sliding"],
        "pairs_by_limit_state": by_state,
        "notices": notices(found.notices),
    }


def back_analysis_csv(found: FailedSlope) -> str:
    """One row a pair."""
    rows = [
        [float(c), float(phi), state]
        for state, pairs in found.pairs.items()
        for c, phi in zip(*pairs, strict=True)
    ]
    return table_csv(["cohesion_kpa", "friction_angle_deg", "limit_state"], rows)
