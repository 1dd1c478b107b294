"""The strength map of one soil: every factor over its cohesion and its friction angle."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from slipmargin.cli.page.blocks import Block, Cell, Table, Words
from slipmargin.cli.page.cells import level_verdict
from slipmargin.cli.page.notices import notice_list
from slipmargin.cli.questions.joint_region import CONFIDENCE, Outline, over_outline, region_of
from slipmargin.cli.questions.owed import owed
from slipmargin.cli.questions.result import Result, factors_csv, notices_at, of_check, of_its_file
from slipmargin.cli.questions.utilisations import (
    Levels,
    answers,
    highest,
    levels_of,
    parted,
    room,
    with_gaps,
)
from slipmargin.cli.scenario.read import CheckEntry, Scenario, SoilEntry
from slipmargin.cli.scenario.readers import nearest
from slipmargin.stability.uncertainty.field_words import soil_words
from slipmargin.stability.uncertainty.replaced import no_pair, with_soil_strength
from slipmargin.stability.uncertainty.strength_map import factor_map
from slipmargin.strength import InputError, Notice, Pair

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from slipmargin.stability.uncertainty.strength_map_plot import MapLayer

__all__ = ["StrengthMap", "map_strength"]


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
class CheckOnMap:
    """Factors of one check, rows of cohesion and columns of angle, and its levels likewise."""

    entry: CheckEntry
    factors: Mapping[str, Any]
    levels: Levels
    region: RegionOnMap | None
    notices: tuple[Notice, ...]

    def lies(self) -> str:
        """Whether the 95 % region crosses what is asked, and where."""
        asked, one = self.entry.asked(self.factors), self.region
        if one is None:
            return ""
        sets = any(self.levels.values())
        asked += (", " if asked and sets else "") + ("utilisation 1" if sets else "")
        text = f"{self.entry.label} ({asked}): the 95 % region"
        if one.meets != "part":
            return f"{text} lies wholly where it is {'met' if one.meets == 'all' else 'missed'}."
        where = " and ".join(
            f"φ′ {pair.friction_angle:.1f} deg, c′ {pair.cohesion:.1f} kPa" for pair in one.crosses
        )
        return f"{text} crosses the line, at {where}."

    def layer(self) -> MapLayer:
        """The factors, and the line on which they meet what is asked of them."""
        from slipmargin.stability.uncertainty.strength_map_plot import MapLayer

        asked = self.entry.asked(self.factors)
        # a list of targets would crowd the map out of its own picture
        words = ["all targets" if "," in asked else asked] if asked else []
        words += ["utilisation 1"] if any(self.levels.values()) else []
        lowest = np.min(list(self.factors.values()), axis=0)
        left = room(self.entry, self.factors, self.levels)
        return MapLayer(self.entry.label, lowest, left, ", ".join(words), self.entry.place)


@dataclass(frozen=True, slots=True)
class StrengthMap(Result):
    """Factors of every check over the strength of one soil.

    A curved envelope is no point of that plane, and has no map.
    """

    soil: str
    cohesion: Any
    friction_angle: Any
    regions: Mapping[str, Pair]
    points: Mapping[str, Pair]
    highest_at_points: Mapping[str, Any]
    checks: tuple[CheckOnMap, ...]

    def csv(self) -> str:
        """One row a pair, check and limit state."""
        pair = self.cohesion[:, None], self.friction_angle
        return factors_csv(
            ["cohesion_kpa", "friction_angle_deg", "check"],
            [((*pair, one.entry.label), one.factors, one.levels) for one in self.checks],
        )

    def blocks(self) -> Iterator[Block]:
        """The known points with the highest level of any check there, and where the region lies
        to what is asked of each check.
        """
        c, phi = self.cohesion, self.friction_angle
        yield self._points()
        yield from (Words(one.lies()) for one in self.checks if one.region is not None)
        yield notice_list(notices_at(self.checks))
        yield Words(
            f"{c.size} × {phi.size} cells, c′ 0 to {c[-1]:.1f} kPa, φ′ {phi[0]:.1f} to "
            f"{phi[-1]:.1f} deg: draw them with --plot FILE; the grid is in --json and --csv."
        )

    def _points(self) -> Table:
        sets = list(self.highest_at_points)
        rows: list[tuple[Cell, ...]] = []
        for index, (name, pair) in enumerate(self.points.items()):
            cells = [level_verdict(self.highest_at_points[one][index]) for one in sets]
            rows.append((name, f"{pair.cohesion:.1f}", f"{pair.friction_angle:.1f}", *cells))
        for level, outline in self.regions.items():
            if np.size(outline.cohesion):
                both = (np.asarray(outline.cohesion), np.asarray(outline.friction_angle))
                ends = (f"{one.min():.1f} to {one.max():.1f}" for one in both)
                rows.append((f"{level} joint region", *ends, *([""] * len(sets))))
        heads = ("Point", "c′ [kPa]", "φ′ [deg]", *(f"highest utilisation, {s}" for s in sets))
        right = range(1, len(heads))
        return Table(f"Strength map of {soil_words(self.soil)}", heads, rows, right)

    def figure(
        self,
        failed: tuple[str, Any, Any] | None = None,
        *,
        below: str = "",
        axes: Axes | None = None,
    ) -> Figure:
        """The map, with the label and the pairs of a failure to explain where there is one;
        ``below`` stands below the title, ``axes`` is where to draw, a new figure without it.
        """
        from slipmargin.stability.uncertainty.strength_map_plot import plot_map

        pairs = {n: (float(p.cohesion), float(p.friction_angle)) for n, p in self.points.items()}
        return plot_map(
            soil_words(self.soil),
            self.cohesion,
            self.friction_angle,
            [one.layer() for one in self.checks],
            regions={n: (p.cohesion, p.friction_angle) for n, p in self.regions.items()},
            points=pairs,
            failed=failed,
            below=below,
            axes=axes,
        )


@of_its_file
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
        raise InputError("--soil", name, f"unknown soil; {hint}")
    entries = [entry for entry in scenario.judged if name in entry.soil_names]
    if not entries:
        raise InputError("--soil", name, "no check with a factor of safety uses this soil")
    soil = scenario.soils[name]
    if soil.soil.strength.curve is not None:
        raise no_pair(f"soils.{name}")
    regions = _regions(soil)
    points = _points(soil)
    cohesion, angle = axes or _axes(
        regions, points, cells, lambda c, phi: _all_met(scenario, entries, name, c, phi)
    )
    outline = region_of(soil)
    checks = []
    at_points: dict[str, list[Any]] = {}
    pairs = [
        np.array([float(getattr(p, one)) for p in points.values()])
        for one in ("cohesion", "friction_angle")
    ]
    for entry in entries:
        with of_check(entry):
            checks.append(_on_map(scenario, entry, name, (cohesion, angle), outline))
        there = levels_of(scenario, with_soil_strength(entry.check, name, *pairs))
        for set_name, states in there.items():
            at_points.setdefault(set_name, []).append(highest(states))
    worst = {one: np.max(np.broadcast_arrays(*found), axis=0) for one, found in at_points.items()}
    return StrengthMap(name, cohesion, angle, regions, points, worst, tuple(checks))


def _on_map(
    scenario: Scenario,
    entry: CheckEntry,
    soil: str,
    axes: tuple[Any, Any],
    outline: Outline | None,
) -> CheckOnMap:
    cohesion, angle = axes
    answer = answers(scenario, entry.check)

    def ask(part: slice) -> Mapping[Any, Any]:
        return factor_map(entry.check, soil, cohesion, angle[part], answer)

    factors, levels = parted(with_gaps(ask, angle.size))
    cells = cohesion.size * angle.size
    said = owed(scenario, entry, factors, by_sets=True, samples=cells)
    lies = None
    if outline is not None:
        left = room(entry, *parted(over_outline(scenario, entry, outline)))
        lies = None if left is None else _region_on_map(outline, left)
    return CheckOnMap(entry, factors, levels, lies, said)


def _region_on_map(outline: Outline, left: Any) -> RegionOnMap:
    """Where the outline crosses the line on which there is no room left."""
    met = np.nan_to_num(left, nan=0.0) >= 1.0
    if np.all(met) or not np.any(met):
        return RegionOnMap("all" if met[0] else "none", ())
    here = np.flatnonzero(met[:-1] != met[1:])
    above, below = left[here] - 1.0, left[here + 1] - 1.0
    with np.errstate(invalid="ignore"):
        share = np.where(np.isfinite(above / (above - below)), above / (above - below), 0.5)
    c, phi = (one[here] + share * (one[here + 1] - one[here]) for one in outline.pairs)
    return RegionOnMap("part", tuple(Pair(float(a), float(b)) for a, b in zip(c, phi, strict=True)))


def _regions(soil: SoilEntry) -> dict[str, Pair]:
    outlines = {level: region_of(soil, level) for level in (0.5, CONFIDENCE)}
    return {f"{level:.0%}": Pair(*one.pairs) for level, one in outlines.items() if one is not None}


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
    regions: Mapping[str, Pair],
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
        c += [min(float(v), 150.0) for v in np.asarray(outline.cohesion)]
        phi += [min(max(float(v), 5.0), 60.0) for v in np.asarray(outline.friction_angle)]
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
