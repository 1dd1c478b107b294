"""Speed of the rotational check, as ratios.

One million strengths through the critical-spiral search, against the bare infinite-slope
expression in numpy over the same strengths. Wanted: at most 10.

A slope of a sweep, against a plain-loop search for it (a scalar search inside a scalar
search inside a root, all of scipy.optimize). Wanted: at least 1000 for a strength of the
million, as many as may be for a slope of its own.

Also: how far the search stays below a general optimiser over 500 random slopes. Wanted:
1e-4 at most.
"""

from __future__ import annotations

import cmath
import math
import sys
import time
from collections.abc import Callable
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq, differential_evolution, minimize_scalar

from slipmargin.stability.infinite_slope.check import InfiniteSlope
from slipmargin.stability.rotational.check import Rotational
from slipmargin.stability.rotational.critical_spiral import hardest_spirals
from slipmargin.stability.rotational.ground import loaded_slope
from slipmargin.stability.rotational.log_spiral import cohesion_required
from slipmargin.stability.rotational.spiral import spiral_through
from slipmargin.stability.soil import Soil
from slipmargin.strength import Strength

GAMMA, HEIGHT, FACE = 18.0, 7.0, 50.0
REPEATS = 5


def best_of(function: Callable[[], object]) -> float:
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def check(c: object, phi: object, face: object = FACE) -> Rotational:
    strength = Strength(cohesion=c, friction_angle=phi)  # type: ignore[arg-type]
    soil = Soil(strength=strength, unit_weight=GAMMA)
    return Rotational(soil=soil, height=HEIGHT, face_angle=face)  # type: ignore[arg-type]


def spiral_needs(back: float, opening: float, tan: float) -> float:
    """Cohesion required by one toe spiral, in plain Python."""
    crest = complex(HEIGHT / math.tan(math.radians(FACE)), HEIGHT)
    turned = cmath.exp((1j - tan) * opening)
    arm = (crest + back) / (turned - 1.0)
    cube = arm * abs(arm) ** 2 * (cmath.exp((1j - 3.0 * tan) * opening) - 1.0)
    moment = cube / (1j - 3.0 * tan) / 3.0
    corners = [arm * turned, crest + arm, arm]
    for p, q in pairwise(corners):
        moment += (p.conjugate() * q).imag * (p + q) / 6.0
    spread = -math.expm1(-2.0 * tan * opening) / (2.0 * tan)
    return GAMMA * moment.real / (abs(arm) ** 2 * spread)


def plain_factor(c: float, phi: float) -> float:
    """The factor by nested searches, toe spirals alone."""
    tan = math.tan(math.radians(phi))

    def hardest(reduced: float) -> float:
        def along(back: float) -> float:
            found = minimize_scalar(
                lambda opening: -spiral_needs(back, opening, reduced),
                bounds=(0.05, 2.5),
                method="bounded",
            )
            return float(found.fun)

        found = minimize_scalar(along, bounds=(0.01, 3.0 * HEIGHT), method="bounded")
        return -float(found.fun)

    return float(brentq(lambda f: hardest(tan / f) - c / f, 0.5, 5.0, xtol=1e-6))


def deficit(seed: int) -> float:
    """How much more, of γH, a general optimiser finds that a random slope requires."""
    rng = np.random.default_rng(seed)
    face = rng.uniform(20.0, 90.0)
    tan = np.tan(np.radians([rng.uniform(2.0, 0.9 * face)]))
    strength = Strength(cohesion=1.0, friction_angle=30.0)
    slope = loaded_slope(
        Rotational(
            soil=Soil(strength=strength, unit_weight=GAMMA),
            height=HEIGHT,
            face_angle=face,
            pore_pressure_ratio=float(rng.choice([0.0, 0.2])),
        ),
        (),
    )
    top = slope.ground.stations[0, 1]

    def spare(x: np.ndarray) -> float:
        ends = np.array([min(x[0], 0.0)]), np.array([top + math.exp(x[1])])
        spiral = spiral_through(slope, *ends, np.array([math.exp(x[2])]), tan)
        return -max(float(cohesion_required(slope, spiral, 16)[0][0]), -1e6)

    limits = [(-5.0 * HEIGHT, HEIGHT), (-5.0, 3.5), (-4.0, 1.0)]
    general = differential_evolution(spare, limits, rng=seed, tol=1e-10, maxiter=150, popsize=12)
    ours = float(hardest_spirals(slope, tan).cohesion[0])
    return (-general.fun - ours) / (GAMMA * HEIGHT)


def main(slopes: int) -> None:
    rng = np.random.default_rng(1)
    c, phi = rng.uniform(1.0, 20.0, 1_000_000), rng.uniform(20.0, 40.0, 1_000_000)
    beta, depth = math.radians(FACE), 2.0
    stress, shear = GAMMA * depth * math.cos(beta) ** 2, GAMMA * depth * math.sin(2.0 * beta) / 2.0

    bare = best_of(lambda: (c + stress * np.tan(np.radians(phi))) / shear)
    full = best_of(lambda: check(c, phi).evaluate())
    print("a million strengths")
    print(f"bare infinite slope {bare:.3f} s, critical spiral {full:.3f} s")
    print(f"  ratio {full / bare:.1f} (wanted: at most 10)")
    strength = Strength(cohesion=c, friction_angle=phi)
    layer = Soil(strength=strength, unit_weight=GAMMA)
    shallow = best_of(lambda: InfiniteSlope(soil=layer, slope_angle=FACE, depth=depth).evaluate())
    print(f"  the infinite slope as a whole check {shallow:.3f} s, ratio {full / shallow:.1f}")
    curve = best_of(lambda: check(5.0, 30.0).strength_law())
    print(f"  of it the curve, whatever the number of strengths, {curve:.3f} s")

    few = 5
    start = time.perf_counter()
    plain = [
        plain_factor(float(one), float(other))
        for one, other in zip(c[:few], phi[:few], strict=True)
    ]
    each = (time.perf_counter() - start) / few
    ours = check(c[:few], phi[:few]).evaluate().factors_of_safety["sliding"]
    apart = np.max(np.abs(plain / ours - 1.0))
    print(f"plain loop {each:.3f} s a slope, largest difference {apart:.1e}")
    print(f"  ratio a strength {each / (full / c.size):.0f} (wanted: at least 1000)")
    sweep = best_of(lambda: check(5.0, 30.0, np.linspace(20.0, 90.0, 200)).evaluate())
    print(f"200 face angles {sweep:.2f} s; ratio a slope {each / (sweep / 200):.0f}")
    one = best_of(lambda: check(5.0, 30.0).evaluate())
    print(f"one slope {1e3 * one:.0f} ms, as a share of the plain loop {one / each:.2f}")

    missing = [deficit(seed) for seed in range(slopes)]
    print(f"search below a general optimiser by at most {max(missing):.1e} γH over {slopes} slopes")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
