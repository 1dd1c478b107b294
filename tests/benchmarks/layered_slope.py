"""Speed of layered slopes, as ratios and as time and memory of one run.

A circle of a check over a thousand of them, Spencer's factor included, against a plain Python
loop over the same slices. Wanted: at least 200.

A hundred thousand strengths of two soils through the search. Wanted: under 20 s and 500 MB on
two cores.

Also: how far the candidates of many samples stay above full searches of 300 of them. Wanted:
0.5 % at most.
"""

from __future__ import annotations

import math
import resource
import sys
import time

import numpy as np

from slipmargin.stability import LayeredSlope, Soil
from slipmargin.stability.layered_slope import SlopeLayer
from slipmargin.stability.layered_slope.candidates import lowest_circles
from slipmargin.stability.layered_slope.factors import spencer_factors
from slipmargin.stability.layered_slope.given_circle import given_circle
from slipmargin.stability.layered_slope.ground import section_of
from slipmargin.stability.layered_slope.search import SLICES, full_search
from slipmargin.stability.layered_slope.slices import Slices, slices_of
from slipmargin.stability.layered_slope.spencer import bishop, strengths
from slipmargin.stability.uncertainty.replaced import with_soil_strength
from slipmargin.strength import Strength

CIRCLES, SAMPLES, SEARCHED = 1000, 100_000, 300


def soil(name: str, c: float, phi: float) -> Soil:
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(name=name, strength=strength, unit_weight=18.5, saturated_unit_weight=20.0)


SLOPE = LayeredSlope(
    ground_line=[[-20.0, 0.0], [0.0, 0.0], [8.0, 4.0], [11.0, 4.0], [18.0, 9.0], [60.0, 10.0]],
    layers=(
        SlopeLayer(soil=soil("fill", 6.0, 29.0)),
        SlopeLayer(soil=soil("bank", 12.0, 24.0), top=[[-20.0, -1.0], [20.0, 3.0], [60.0, 4.0]]),
    ),
    water_line=[[-20.0, -0.2], [0.0, 0.0], [18.0, 4.0], [60.0, 6.0]],
    firm_ground_depth=3.0,
    surcharge=15.0,
    surcharge_setback=1.0,
    surcharge_width=4.0,
)


def plain_loop(s: Slices, c: np.ndarray, t: np.ndarray, at: int) -> float:
    """Spencer's factor of one circle by secants in θ and F, a slice after the other."""
    rows = [
        tuple(float(one[0, at, k]) for one in (s.sin, s.cos, s.vertical, s.horizontal, s.uplift,
              s.moment, s.across, s.up, c, t))
        for k in range(s.sin.shape[-1])
    ]  # fmt: skip
    radius = float(s.radius[0, at])

    def sums(factor: float, lam: float) -> tuple[float, float]:
        force = moment = 0.0
        for sin, cos, v, h, u, m, across, up, held, tan in rows:
            resist = held + tan * (v * cos + h * sin - u)
            d = factor * (cos + lam * sin) + tan * (sin - lam * cos)
            e = (factor * (v * sin - h * cos) - resist) / d
            force += e
            moment += e * (lam * across - up) - m / radius
        return force, moment

    def by_forces(lam: float) -> float:
        low, high = 0.3, 20.0
        while high - low > 1e-8:
            middle = math.sqrt(low * high)
            low, high = (low, middle) if sums(middle, lam)[0] > 0.0 else (middle, high)
        return low

    low, high = -0.1, 1.0
    while high - low > 1e-6:
        middle = (low + high) / 2.0
        low, high = (low, middle) if sums(by_forces(middle), middle)[1] > 0.0 else (middle, high)
    return by_forces(low)


def main() -> int:
    rng = np.random.default_rng(3)
    x, y = rng.uniform(4.0, 9.0, CIRCLES), rng.uniform(18.0, 26.0, CIRCLES)
    radius = y + rng.uniform(-1.0, 2.5, CIRCLES)
    section = section_of(SLOPE, ())
    circles = given_circle(section, x, y, radius, CIRCLES)
    across = type(circles)(*(getattr(circles, name).T for name in circles.__slots__))
    times = []
    for _ in range(5):
        began = time.perf_counter()
        slices = slices_of(section, across, SLICES)
        held = strengths(section, slices)
        guess, _ = bishop(slices, held, steps=8)
        found = spencer_factors(section, slices, guess, np.full(guess.shape, 0.2))
        times.append((time.perf_counter() - began) / CIRCLES)
    solved = np.flatnonzero(np.isfinite(found.factor[0]))[:5]
    c = np.broadcast_to(held.cohesion, slices.sin.shape)
    t = np.broadcast_to(held.tan_friction_angle, slices.sin.shape)
    began = time.perf_counter()
    plain = [plain_loop(slices, c, t, int(at)) for at in solved]
    loop = (time.perf_counter() - began) / solved.size
    off = max(
        abs(a / float(found.factor[0, at]) - 1.0) for a, at in zip(plain, solved, strict=True)
    )
    ratio = loop / min(times)
    sys.stdout.write(
        f"a circle of {CIRCLES}: {min(times) * 1e6:.0f} µs, plain loop {loop * 1e3:.0f} ms: "
        f"{ratio:.0f} times as fast (wanted 200), factors {off:.0e} apart\n"
    )

    def drawn(count: int) -> LayeredSlope:
        moved = with_soil_strength(
            SLOPE, "fill", rng.lognormal(1.8, 0.4, count), rng.normal(29.0, 2.5, count)
        )
        return with_soil_strength(
            moved, "bank", rng.lognormal(2.4, 0.4, count), rng.normal(24.0, 2.5, count)
        )

    began = time.perf_counter()
    drawn(SAMPLES).factors_alone()
    took = time.perf_counter() - began
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    sys.stdout.write(f"{SAMPLES} samples: {took:.1f} s, {memory:.0f} MB (wanted 20 s, 500 MB)\n")

    some = section_of(drawn(SEARCHED), (SEARCHED,))
    near, exact = lowest_circles(some).factor[:, 0], full_search(some).factor[:, 0]
    above = float(np.max(near / exact - 1.0))
    sys.stdout.write(f"candidates above full searches: {above:.2%} at most (wanted 0.5 %)\n")
    return int(ratio < 200.0 or above > 0.005)


if __name__ == "__main__":
    sys.exit(main())
