"""Searched planar wedge: a million strengths against one bare numpy expression, and many
slopes against a loop of scipy's scalar minimisation. Prints ratios of the best of several
runs, and the peak of memory.

Wanted: a million strengths within 10 times the bare expression of an infinite slope; a
sample at least 1000 times as fast as the loop; less than 300 MB.
"""

from __future__ import annotations

import math
import time
import tracemalloc
from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize_scalar

from slipmargin.stability.planar_wedge.check import PlanarWedge
from slipmargin.stability.soil import Soil
from slipmargin.strength import Strength

SAMPLES = 1_000_000
LOOPED = 300
RUNS = 5


def seconds(job: Callable[[], object]) -> float:
    best = math.inf
    for _ in range(RUNS):
        start = time.perf_counter()
        job()
        best = min(best, time.perf_counter() - start)
    return best


def wedge(c: object, phi: object, gamma: object = 19.0, **fields: object) -> PlanarWedge:
    soil = Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=gamma)
    return PlanarWedge(soil=soil, height=7.0, face_angle=60.0, **fields)


def looped(c: float, phi: float, gamma: float) -> float:
    face, tan_phi = math.radians(60.0), math.tan(math.radians(phi))

    def factor(psi: float) -> float:
        weight = 0.5 * gamma * 49.0 * (1.0 / math.tan(psi) - 1.0 / math.tan(face))
        return (c * 7.0 / math.sin(psi) + weight * math.cos(psi) * tan_phi) / (
            weight * math.sin(psi)
        )

    return float(minimize_scalar(factor, bounds=(0.05, face - 1e-6), method="bounded").fun)


def main() -> None:
    rng = np.random.default_rng(7)
    c, phi = rng.uniform(4.0, 20.0, SAMPLES), rng.normal(32.0, 2.0, SAMPLES)
    gamma = rng.normal(19.0, 0.6, SAMPLES)
    beta = math.radians(28.0)
    weight = 19.0 * 1.8
    normal, shear = weight * math.cos(beta) ** 2 - 5.0, weight * math.sin(beta) * math.cos(beta)

    bare = seconds(lambda: (c + normal * np.tan(np.radians(phi))) / shear)
    print(f"bare infinite slope, a million strengths        {1e9 * bare / SAMPLES:8.1f} ns each")

    def by_law() -> object:
        curve = wedge(8.0, 30.0).strength_law()
        return None if curve is None else curve.factor(c, np.tan(np.radians(phi)))

    law = seconds(by_law)
    whole = seconds(lambda: wedge(c, phi).evaluate())
    both = seconds(lambda: wedge(c, phi, search_tension_crack=True).evaluate())
    general = seconds(lambda: wedge(c, phi, gamma).evaluate())
    few = slice(0, LOOPED)
    loop = seconds(lambda: [looped(*one) for one in zip(c[few], phi[few], gamma[few], strict=True)])
    per_loop = loop / LOOPED
    for name, taken in (
        ("factor by the strength law, curve included", law),
        ("evaluate with all values, strengths vary", whole),
        ("same, crack searched too", both),
        ("evaluate, unit weight varies too (searched)", general),
    ):
        each = taken / SAMPLES
        print(
            f"{name:47s} {1e9 * each:8.1f} ns each, {taken / bare:6.1f} times the bare expression, "
            f"{per_loop / each:8.0f} times as fast as the loop"
        )
    print(f"loop over scipy.optimize.minimize_scalar        {1e9 * per_loop:8.0f} ns each")

    tracemalloc.start()
    wedge(c, phi, gamma).evaluate()
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    print(f"peak of memory beyond the inputs                {peak:8.0f} MB")


if __name__ == "__main__":
    main()
