"""What must be said beside degrees of utilisation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np

from slipmargin.stability.check import CheckResult
from slipmargin.stability.design.partial_factors import RECOMMENDED, FactorSet
from slipmargin.stability.design.result import DesignSoil, level_text
from slipmargin.stability.design.wall import WallDesign
from slipmargin.strength import Notice, Strength
from slipmargin.strength.traced import some

__all__ = ["best_fit_notices", "set_notices", "untouched_by_level", "wall_design_notices"]

_BY_LEVEL = ("below-one", "below-target", "below-customary-factor")


def untouched_by_level(result: CheckResult) -> list[Notice]:
    """Notices of a check, without those that hold its factor against a level."""
    return [one for one in result.notices if one.code not in _BY_LEVEL]


def wall_design_notices(design: WallDesign, other: WallDesign, water: str) -> Iterator[Notice]:
    """The notices of a wall under partial factors, with water factored the way that is asked
    for, and the other way.
    """
    yield Notice.info(
        "forces-factored-by-direction",
        "Water and shaking are permanent actions here. A force that helps takes the "
        "favourable factor and one that hinders the unfavourable one; loads on the backfill count "
        "only where they hinder.",
    )
    yield from _water_notices(design, other, water)
    if not np.all(design.stands):
        yield Notice.stop(
            "no-active-pressure-for-design-strength",
            "With the design strength the backfill cannot stand at its slope (with its "
            "shaking), and the theory has no thrust: no wall passes there.",
        )
    largest = float(np.max(np.nan_to_num(design.eccentricity_share)))
    if largest > 1.0 / 3.0:
        yield Notice.caution(
            "design-resultant-near-edge",
            f"The design loads act up to {largest:.2f} B from the middle of the base, beyond "
            "B/3: special precautions are asked for there.",
            "EN 1997-1:2004, 6.5.4 (from memory)",
        )


def best_fit_notices(fits: Mapping[str, Strength]) -> Iterator[Notice]:
    """What is owed where factors are put on best fits, by soil."""
    if not fits:
        return
    text = (
        f"Partial factors are put on a best fit ({' and '.join(fits)}). They belong on a "
        "characteristic value, a cautious estimate; as many best fits lie above the truth as "
        "below."
    )
    lacking = [name for name, strength in fits.items() if strength.cautious is None]
    if len(lacking) < len(fits):
        text += (
            " The utilisation on the cautious value stands beside the other and is the one to "
            'use; value = "cautious" takes it everywhere.'
        )
    if lacking:
        text += f" The tests of {' and '.join(lacking)} give no cautious value: more are needed."
    yield Notice.stop("partial-factors-on-best-fit", text, "EN 1997-1:2004, 2.4.5.2 (from memory)")


_WATER_WORDS = {
    "single_source": "Water on the wall is taken as a single source: in sliding and bearing its "
    "pressures behind, below and in front and its weight take one factor, the worse of the "
    "favourable and the unfavourable.",
    "by_direction": "Water on the wall is factored by direction: its pressure behind and below "
    "takes the unfavourable factor, its weight and its pressure in front the favourable one.",
}


def _water_notices(design: WallDesign, other: WallDesign, water: str) -> Iterator[Notice]:
    """How water was factored, and what the other way gives where it is not the same."""
    if not design.wet:
        return
    text = _WATER_WORDS[water]
    choice = next(one for one in _WATER_WORDS if one != water)
    levels = []
    crosses = False
    for name in ("sliding", "bearing"):
        here, there = (float(np.max(one.limit_states[name].utilisation)) for one in (design, other))
        if abs(there - here) > 0.005 * here and np.isfinite(there):
            levels.append(f"{name} {level_text(there)} in place of {level_text(here)}")
            crosses |= here <= 1.0 < there
    if levels:
        text += f' With water_factors = "{choice}": {", ".join(levels)}.'
    yield (Notice.caution if crosses else Notice.info)(
        "water-factors",
        text,
        "EN 1997-1:2004, 2.4.2(9): one factor may be put on actions of a single source "
        "(from memory)",
    )


def set_notices(
    check: Any, factors: FactorSet, soils: Iterable[DesignSoil], limit_states: Iterable[str]
) -> Iterator[Notice]:
    """The notices owed by the set that was applied to a check with these soils and limit states."""
    yield Notice.info(
        "factor-set-not-chosen-for-you",
        f"{factors.name} is shown because it was asked for. Which set applies is for the "
        "national annex and the engineer to say.",
    )
    if factors.name in RECOMMENDED:
        yield Notice.info(
            "recommended-factors",
            "These are the recommended values; a national annex may replace any of them.",
            factors.source,
        )
    used = [factors] + [factors.overturning] * ("overturning" in tuple(limit_states))
    recalled = dict.fromkeys(one.from_memory for one in used if one.from_memory)
    if recalled:
        yield Notice.caution(
            "partial-factors-from-memory",
            f"From memory, to be checked against the document: {'; '.join(recalled)}.",
        )
    below = ", ".join(
        name
        for name, value in factors.factors.items()
        if value < 1.0 and not name.endswith("_favourable")
    )
    if below:
        text = f"Partial factors below 1 add to what was measured: {below}."
        yield Notice.caution("factor-below-one", text)
    if any(some(one.friction_angle == 0.0) for one in soils):
        yield Notice.info(
            "undrained-factor-used",
            "Where φ′ = 0 the strength is stated in total stress and takes the factor of "
            f"the undrained strength, {factors.factors['undrained_strength']:g}.",
        )
    if some(getattr(check, "horizontal_seismic_coefficient", 0.0) > 0.0):
        yield Notice.info(
            "persistent-factors-with-shaking",
            "These sets are for persistent situations. For earthquake codes take other "
            "values, mostly 1 on actions; give them as a set of your own.",
            "EN 1998-5:2004 (from memory)",
        )
