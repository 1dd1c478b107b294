"""A reviewer asks how much hangs on the friction angle.

The report on an invented cut, Heron Cutting, states c′ = 8 kPa and φ′ = 34°. The reviewer
has the three tests behind it.
"""

# ruff: noqa: T201  (what is shown to a person is printed)

# %% What the tests say, beside what was stated
import numpy as np

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import JointStrength, Pair, Readings, Strength, strength_from_readings

readings = Readings(
    test=("H1", "H2", "H3", "H4"),
    normal=np.array([25.0, 50.0, 100.0, 150.0]),  # kPa
    shear=np.array([20.3, 35.2, 65.8, 94.9]),  # kPa
    unit="kPa",
)
laboratory = strength_from_readings(readings, stated={"the report": Pair(8.0, 34.0)})
print(laboratory)


# %% One slope, any strength: a field takes a number or an array
def factor(strength: Strength) -> np.ndarray:
    """Factor of safety of the slope with one strength, or with many."""
    soil = Soil(name="cut", strength=strength, unit_weight=18.5, saturated_unit_weight=20.0)
    slope = InfiniteSlope(soil=soil, slope_angle=28.0, depth=2.0, water_table_depth=0.8, target=1.3)
    return np.asarray(slope.evaluate().factors_of_safety["sliding"])


best = laboratory.strength()
angles = np.linspace(26.0, 38.0, 7)
swept = factor(Strength(cohesion=best.cohesion, friction_angle=angles))
for angle, value in zip(angles, swept, strict=True):
    print(f"φ′ = {angle:4.1f} deg   F = {value:.2f}")

# %% Every reading of the same tests, the stated one among them
for one in laboratory.interpretations(operating_stress=25.0):
    pair = Strength(cohesion=max(float(one.cohesion), 0.0), friction_angle=one.friction_angle)
    print(f"{one.name:40} F = {float(factor(pair)):.2f}")

# %% The doubt in c′ and φ′ together: drawn as a pair, for in one fit the two are tied
doubt = JointStrength.of(laboratory.fit)
draws = np.random.default_rng(7).random((20_000, 3))
cohesion, friction_angle = doubt.pairs(draws)
factors = factor(Strength(cohesion=cohesion, friction_angle=friction_angle))
low, fallen = np.mean(factors < 1.3), np.mean(factors < 1.0)
print(f"F below 1.3 in {low:.0%} of the draws, below 1 in {fallen:.1%}")
cautious = laboratory.strength("cautious")
print(f"best fit {float(factor(best)):.2f}, cautious {float(factor(cautious)):.2f}")
