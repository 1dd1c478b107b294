"""A retaining wall over joint samples of both soils: one call against a call for each sample.

Prints the ratio of the times per sample. Wanted: at least 200.
"""

from __future__ import annotations

import time

import numpy as np

from slipmargin.stability import Soil
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import Strength

SAMPLES = 100_000
LOOPED = 300
WALL = Wall(
    unit_weight=24.0,
    stem_height=5.3,
    stem_top_thickness=0.3,
    stem_bottom_thickness=0.5,
    toe_width=0.8,
    heel_width=2.2,
    base_thickness=0.6,
)


def check(strengths: np.ndarray) -> RetainingWall:
    """Columns: cohesion and friction angle of the backfill, then of the foundation."""
    c1, phi1, c2, phi2 = strengths
    return RetainingWall(
        backfill=Soil(
            strength=Strength(cohesion=c1, friction_angle=phi1),
            unit_weight=18.0,
            saturated_unit_weight=20.0,
        ),
        foundation=Soil(
            strength=Strength(cohesion=c2, friction_angle=phi2),
            unit_weight=18.5,
            saturated_unit_weight=20.0,
        ),
        wall=WALL,
        surcharge=10.0,
        water_table_depth=3.0,
        embedment=1.0,
    )


def main() -> None:
    rng = np.random.default_rng(7)
    means, stds = [4.0, 32.0, 8.0, 31.0], [1.0, 1.5, 2.0, 1.5]
    strengths = np.abs(rng.normal(means, stds, (SAMPLES, 4)).T)
    check(strengths[:, :10]).evaluate(leave_out=("overall",))

    start = time.perf_counter()
    together = check(strengths).evaluate(leave_out=("overall",))
    one_call = (time.perf_counter() - start) / SAMPLES

    start = time.perf_counter()
    alone = [check(strengths[:, k]).evaluate(leave_out=("overall",)) for k in range(LOOPED)]
    in_a_loop = (time.perf_counter() - start) / LOOPED

    for name, factor in together.factors_of_safety.items():
        looped = [float(one.factors_of_safety[name]) for one in alone]
        np.testing.assert_allclose(np.asarray(factor)[:LOOPED], looped, rtol=1e-12)
    print(f"one call: {one_call * 1e6:.2f} µs a sample")
    print(f"loop: {in_a_loop * 1e6:.0f} µs a sample")
    print(f"ratio: {in_a_loop / one_call:.0f}")


if __name__ == "__main__":
    main()
