"""How far the printed doubts hold: simulated series of tests about a line that is known.

Each series is fitted as ``fit`` does it, and its doubt carried into a dry slope as
``reliability`` does it. Counted is how often

- the joint 95 % region holds the true pair, and the 95 % limits the true c′;
- the cautious strength lies below the true one at the middle of the tested range;
- the printed probability of falling short of the true factor lies between 1 and 5 %, 5 and
  10 %, 10 and 20 %. Where the probability says what it means, that happens in 4, 5 and 10 % of
  the series: nobody who relies on it then errs more often than he was told.

    python tests/simulation/printed_probabilities.py [SERIES]
"""

# ruff: noqa: T201  (what is shown to a person is printed)

from __future__ import annotations

import math
import sys
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point, Polygon

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import ShearTests, Strength, fit_envelope
from slipmargin.strength.envelope.joint import JointStrength

Floats = NDArray[np.float64]

SIZES = (3, 4, 5, 8)
COHESIONS = (0.0, 3.0, 10.0)
FRICTION_ANGLE, SCATTER = 31.0, 4.0
LOWEST, HIGHEST = 25.0, 200.0
"""Normal stresses tested [kPa], evenly spread."""

BINS = ((0.01, 0.05), (0.05, 0.10), (0.10, 0.20))
DEPTHS = (2.0, 8.0)
"""Of the slip plane [m]: about 28 and 112 kPa on it, the low end and the middle of the tests."""

DRAWS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Shares of the series, from 0 to 1; ``printed`` by depth, then by bin."""

    region: float
    cohesion_limits: float
    cautious_below: float
    printed: NDArray[np.float64]


def tests_at(normal: Floats, shear: Floats) -> ShearTests:
    """One series of stresses [kPa], each read once."""
    return ShearTests(
        names=tuple(f"{i + 1}" for i in range(normal.size)),
        normal=normal,
        shear=shear,
    )


def factors(cohesion: Floats | float, friction_angle: Floats | float, depth: float) -> Floats:
    """Factors of safety of a dry slope of 28 deg."""
    strength = Strength(cohesion=cohesion, friction_angle=friction_angle)
    soil = Soil(strength=strength, unit_weight=18.0, name="bank")
    slope = InfiniteSlope(soil=soil, slope_angle=28.0, depth=depth)
    return np.asarray(slope.evaluate().factors_of_safety["sliding"], dtype=float)


def simulate(tests: int, cohesion: float, series: int, rng: np.random.Generator) -> Shares:
    """Shares over so many series of so many tests of a soil with so much cohesion [kPa]."""
    normal = np.linspace(LOWEST, HIGHEST, tests)
    strength = cohesion + math.tan(math.radians(FRICTION_ANGLE)) * normal
    middle = (LOWEST + HIGHEST) / 2.0
    at_middle = cohesion + math.tan(math.radians(FRICTION_ANGLE)) * middle
    truth = [float(factors(cohesion, FRICTION_ANGLE, depth)) for depth in DEPTHS]
    region = limits = cautious = 0
    printed = np.zeros((len(DEPTHS), len(BINS)))
    for _ in range(series):
        fit = fit_envelope(tests_at(normal, strength + rng.normal(0.0, SCATTER, tests)))
        joint = JointStrength.of(fit)
        outline = np.column_stack(joint.region(0.95))
        if len(outline) > 3:
            region += bool(Polygon(outline).covers(Point(cohesion, FRICTION_ANGLE)))
        assert fit.interval is not None
        assert fit.interval.cohesion is not None
        low, high = fit.interval.cohesion
        limits += low <= cohesion <= high
        # where no usable limit exists the cautious value is refused, and nothing is overstated
        cautious += fit.cautious is None or bool(fit.cautious.shear_strength(middle) <= at_middle)
        c, tan = joint.draw(rng.random((DRAWS, 2)))
        pairs = c, np.degrees(np.arctan(tan))
        for place, depth in enumerate(DEPTHS):
            below = float(np.mean(factors(*pairs, depth) < truth[place]))
            printed[place] += [least <= below < most for least, most in BINS]
    return Shares(
        region=region / series,
        cohesion_limits=limits / series,
        cautious_below=cautious / series,
        printed=printed / series,
    )


def main(series: int) -> None:
    """Print the table."""
    bins = ["1-5 %", "5-10 %", "10-20 %"]
    heads = ["c′", "tests", "region", "limits", "cautious"]
    heads += [f"{depth:g} m: {name}" for depth in DEPTHS for name in bins]
    print("| " + " | ".join(heads) + " |")
    print("| --- " * len(heads) + "|")
    for cohesion in COHESIONS:
        for tests in SIZES:
            rng = np.random.default_rng([tests, round(cohesion)])
            found = simulate(tests, cohesion, series, rng)
            shares = [found.region, found.cohesion_limits, found.cautious_below]
            cells = [f"{cohesion:g}", str(tests), *(f"{share:.1%}" for share in shares)]
            cells += [f"{share:.1%}" for share in found.printed.ravel()]
            print("| " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4000)
