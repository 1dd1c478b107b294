"""Ten million joint samples through a searched planar wedge; peak memory of the process.

And a 200 × 200 strength map of all five kinds against a 200 × 200 numpy tan + exp grid times
the number of checks (wanted: below 5 times).
"""

from __future__ import annotations

import resource
import time

import numpy as np

from slipmargin.stability import (
    EarthPressure,
    InfiniteSlope,
    PlanarWedge,
    RetainingWall,
    Rotational,
    Soil,
)
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.stability.uncertainty.doubts import StrengthDoubt
from slipmargin.stability.uncertainty.reliability import reliability
from slipmargin.stability.uncertainty.replaced import with_soil_field
from slipmargin.stability.uncertainty.strength_map import factor_map
from slipmargin.strength import JointStrength, Pair, ShearTests, Strength, fit_envelope

SAMPLES = 10_000_000
CELLS = 200


def doubt() -> StrengthDoubt:
    normal = np.array([25.0, 50.0, 100.0, 150.0, 200.0])
    tests = ShearTests(
        names=tuple("12345"),
        normal=normal,
        shear=12.0 + 0.6 * normal + np.array([0.6, -0.8, 0.4, 0.5, -0.6]),
    )
    joint = JointStrength.of(fit_envelope(tests))
    return StrengthDoubt(
        "bank",
        joint,
        lambda check, v: with_soil_field(
            check, "bank", "strength", Pair.of_tangent(v["cohesion"], v["tan_friction_angle"])
        ),
    )


def checks(soil: Soil) -> dict[str, object]:
    wall = Wall(
        unit_weight=24.0, shape="gravity", height=3.0, top_width=0.6, base_width=1.9,
        back_offset=0.0,
    )  # fmt: skip
    base = Soil(strength=Strength(cohesion=5.0, friction_angle=30.0), unit_weight=19.0, name="base")
    return {
        "infinite_slope": InfiniteSlope(soil=soil, slope_angle=26.0, depth=2.5),
        "planar_wedge": PlanarWedge(soil=soil, height=6.0, face_angle=60.0),
        "rotational": Rotational(soil=soil, height=6.0, face_angle=60.0),
        "earth_pressure": EarthPressure(soil=soil, height=4.0, theory="rankine", side="active"),
        "retaining_wall": RetainingWall(backfill=soil, foundation=base, wall=wall, embedment=0.6),
    }


def main() -> None:
    soil = Soil(
        strength=Strength(cohesion=12.0, friction_angle=31.0), unit_weight=18.0, name="bank"
    )
    wedge = PlanarWedge(soil=soil, height=6.0, face_angle=60.0)
    start = time.process_time()
    found = reliability(wedge, [doubt()], samples=SAMPLES, rng=np.random.default_rng(1))["sliding"]
    seconds = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"{SAMPLES} joint samples through a searched plane: {seconds:.1f} s, P = "
          f"{found.probability_below_one:.3g}")  # fmt: skip
    print(f"peak memory of the process {peak:.0f} MB  (wanted: below 400)")

    c, phi = np.linspace(0.5, 30.0, CELLS), np.linspace(15.0, 45.0, CELLS)
    grid_c, grid_phi = np.meshgrid(c, phi, indexing="ij")
    bare = min(_timed(lambda: np.tan(np.radians(grid_phi)) + np.exp(-grid_c)) for _ in range(20))
    every = checks(soil)
    total = 0.0
    for kind, check in every.items():
        seconds = min(
            _timed(lambda check=check: factor_map(check, "bank", c, phi)) for _ in range(3)
        )
        total += seconds
        print(f"  {kind:16s} {seconds * 1e3:8.1f} ms  {seconds / bare:7.1f} × tan + exp")
    ratio = total / (bare * len(every))
    print(f"200 × 200 maps of all kinds over {len(every)} bare grids: {ratio:.1f} ×  (wanted: 5)")


def _timed(call: object) -> float:
    start = time.process_time()
    call()  # type: ignore[operator]
    return time.process_time() - start


if __name__ == "__main__":
    main()
